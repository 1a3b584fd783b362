"""Reading: what is well written comes back as values, what is not is named at its place, all of it at once."""

import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hooflast.catalog.reading import read_files
from hooflast.catalog.values import (
    BootId,
    BootModel,
    LimbSet,
    MakerId,
    Provenance,
    Range,
    Sides,
    Size,
    SizeCode,
    SizeSuccessor,
    SoldAs,
)
from hooflast.errors import InputRefused
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType
from hooflast.texts import load_texts

from .strategies import FORMAT, RETRIEVED_ON, Records, anything, as_file, bounded, in_one_file, layouts, places, records

TEXTS = load_texts("en")


def boot(**members: object) -> dict[str, Any]:
    return {
        "id": "vellory-marlowick",
        "maker": "vellory",
        "name": "Marlowick",
        "closure": "strap",
        "shape": "round",
        "limbs": "fore",
        "animal_types": ["horse", "pony"],
        "intended_uses": ["hacking"],
        "sold_as": "pair",
        "chart_unit": "mm",
        "chart_step": 1,
        "sizes": [{"code": "sorrel", "width": [118, 122]}, {"code": "tansy", "width": [123, 127]}],
        **members,
    }


def edition(*boots: dict[str, Any], **others: object) -> dict[str, Any]:
    return {"format": FORMAT, "makers": [{"id": "vellory", "name": "Vellory"}], "boots": list(boots), **others}


def faults_of(*contents: object) -> set[tuple[tuple[str | int, ...], str]]:
    """Places and codes of the faults; the files are called 0, 1 and so on."""
    found = refusal(*contents).faults
    assert len({(fault.path, fault.code) for fault in found}) == len(found), "no fault is told twice"
    return {(fault.path, fault.code) for fault in found}


def refusal(*contents: object) -> InputRefused:
    with pytest.raises(InputRefused) as refused:
        read_files([as_file(content, source=str(place)) for place, content in enumerate(contents)], plugin="demo")
    for fault in refused.value.faults:
        assert TEXTS.say(f"fault.{fault.code}", fault.facts)
        assert TEXTS.say(f"fault.{fault.code}.accepted", fault.facts)
    return refused.value


def only_boot(content: object) -> BootModel:
    (read,) = read_files([as_file(content)], plugin="demo").boots.values()
    return read


def test_a_boot_model_is_read_with_every_member() -> None:
    content = edition(
        boot(
            sides="left_and_right",
            suits_needs=["founder"],
            max_pad_mm=6,
            discontinued_on="2025-02-01",
            successor="vellory-pelverne",
            note="The last of its kind.",
            chart_unit="in",
            chart_step="1/8",
            sizes=[
                {"code": "sorrel", "width": ["4 7/8", 5], "length": [5, 5.125], "gtin": "2000000000015"},
                {"code": "tansy", "length": ["5 1/4", "5 3/8"]},
            ],
        ),
        boot(id="vellory-pelverne"),
    )
    file = as_file(content, source="spring.json")
    read = read_files([file], plugin="demo").boots
    assert next(iter(read.values())) == BootModel(
        id=next(iter(read)),
        maker=MakerId("vellory"),
        name="Marlowick",
        closure=Closure.STRAP,
        shape=ShapeClass.ROUND,
        limbs=LimbSet.FORE,
        sides=Sides.LEFT_AND_RIGHT,
        animal_types=frozenset({AnimalType.HORSE, AnimalType.PONY}),
        intended_uses=frozenset({IntendedUse.HACKING}),
        suits_needs=frozenset({Need.FOUNDER}),
        max_pad_mm=6.0,
        sold_as=SoldAs.PAIR,
        chart_step_mm=3.175,
        discontinued_on=date(2025, 2, 1),
        successor=list(read)[1],
        note="The last of its kind.",
        sizes=(
            Size(
                code=SizeCode("sorrel"),
                width=Range(low_mm=123.825, high_mm=127.0),
                length=Range(low_mm=127.0, high_mm=130.175),
                gtin="2000000000015",
            ),
            Size(code=SizeCode("tansy"), width=None, length=Range(low_mm=133.35, high_mm=136.525)),
        ),
        provenance=Provenance(
            plugin="demo", source="spring.json", retrieved_on=RETRIEVED_ON, sha256=sha256(file.content).hexdigest()
        ),
    )


@bounded
@given(records().flatmap(lambda one: st.tuples(st.just(one), layouts(one))))
def test_however_records_are_spread_over_files_the_same_is_read(spread: tuple[Records, list[Any]]) -> None:
    edition, files = spread
    whole, parts = read_files(in_one_file(edition), plugin="demo"), read_files(files, plugin="demo")
    assert set(whole.makers) == set(parts.makers)
    assert {key: one.sizes for key, one in whole.boots.items()} == {key: one.sizes for key, one in parts.boots.items()}
    assert set(whole.accessories) == set(parts.accessories)


@bounded
@given(st.integers(41, 240), st.integers(1, 9))
def test_a_chart_in_centimetres_reads_as_the_same_chart_in_millimetres(low: int, span: int) -> None:
    in_mm = only_boot(edition(boot(sizes=[{"code": "fern", "width": [low, low + span]}])))
    in_cm = only_boot(
        edition(boot(chart_unit="cm", chart_step=0.1, sizes=[{"code": "fern", "width": [low / 10, (low + span) / 10]}]))
    )
    assert in_cm.sizes == in_mm.sizes
    assert in_cm.chart_step_mm == in_mm.chart_step_mm


Corruption = Callable[[dict[str, Any], st.DataObject], tuple[tuple[str | int, ...], str]]


def a_place(content: dict[str, Any], data: st.DataObject) -> tuple[int, int, str]:
    """A boot model, one of its sizes and one of that size's axes."""
    boot_index = data.draw(st.integers(0, len(content["boots"]) - 1))
    size_index = data.draw(st.integers(0, len(content["boots"][boot_index]["sizes"]) - 1))
    size = content["boots"][boot_index]["sizes"][size_index]
    return boot_index, size_index, data.draw(st.sampled_from([axis for axis in ("width", "length") if axis in size]))


def invert_a_range(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, axis = a_place(content, data)
    content["boots"][boot_index]["sizes"][size][axis].reverse()
    return ("boots", boot_index, "sizes", size, axis), "catalog-range-inverted"


def take_an_end_away(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, axis = a_place(content, data)
    content["boots"][boot_index]["sizes"][size][axis].pop()
    return ("boots", boot_index, "sizes", size, axis), "catalog-entry-count"


def spoil_an_end(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, axis = a_place(content, data)
    end = data.draw(st.integers(0, 1))
    written: object = data.draw(st.sampled_from([None, True, "wide", "4 7/0", "", -3, 0, []]))
    content["boots"][boot_index]["sizes"][size][axis][end] = written
    return ("boots", boot_index, "sizes", size, axis, end), "catalog-length"


def leave_the_hoof_behind(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, axis = a_place(content, data)
    content["boots"][boot_index]["sizes"][size][axis] = [2600, 2700]
    return ("boots", boot_index, "sizes", size, axis), "catalog-range-outside"


def take_both_axes_away(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, _ = a_place(content, data)
    for axis in ("width", "length"):
        content["boots"][boot_index]["sizes"][size].pop(axis, None)
    return ("boots", boot_index, "sizes", size), "catalog-size-without-axis"


def put_the_largest_size_first(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    sizes = content["boots"][boot_index]["sizes"]
    sizes.insert(0, sizes.pop())
    return ("boots", boot_index, "sizes", 1), "catalog-size-order"


def give_a_size_code_twice(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    sizes = content["boots"][boot_index]["sizes"]
    content["accessories"] = []
    sizes[-1]["code"] = sizes[0]["code"]
    return ("boots", boot_index, "sizes", len(sizes) - 1, "code"), "catalog-repeated-size-code"


def leave_a_member_out(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    needed = [name for name in boot() if name in content["boots"][boot_index]]
    member = data.draw(st.sampled_from(needed))
    del content["boots"][boot_index][member]
    return ("boots", boot_index, member), "catalog-missing-member"


def add_a_member(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, _ = a_place(content, data)
    content["boots"][boot_index]["sizes"][size]["widht"] = [118, 122]
    return ("boots", boot_index, "sizes", size, "widht"), "catalog-unknown-member"


def misspell_a_word(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    member = data.draw(st.sampled_from(["closure", "shape", "limbs", "sold_as", "chart_unit"]))
    content["boots"][boot_index][member] = "srtap"
    return ("boots", boot_index, member), "catalog-not-one-of"


def misspell_a_use(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["intended_uses"].append("haking")
    place = len(content["boots"][boot_index]["intended_uses"]) - 1
    return ("boots", boot_index, "intended_uses", place), "catalog-not-one-of"


def mix_rest_and_motion(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["intended_uses"] = ["transport", "confined", "arena"]
    return ("boots", boot_index, "intended_uses"), "catalog-uses-conflict"


def write_the_id_in_capitals(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["id"] = "MARLOWICK"
    return ("boots", boot_index, "id"), "catalog-identifier"


def name_a_strange_maker(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["maker"] = "nobody-of-this-name"
    return ("boots", boot_index, "maker"), "catalog-unknown-maker"


def name_a_strange_successor(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index] |= {"discontinued_on": "2025-01-31", "successor": "nothing-of-this-name"}
    return ("boots", boot_index, "successor"), "catalog-unknown-successor"


def let_a_boot_succeed_itself(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    its_id = content["boots"][boot_index]["id"]
    content["boots"][boot_index] |= {"discontinued_on": "2025-01-31", "successor": its_id}
    return ("boots", boot_index, "successor"), "catalog-successor-circle"


def end_on_no_day(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["discontinued_on"] = "2025-02-30"
    return ("boots", boot_index, "discontinued_on"), "catalog-date"


def spoil_the_check_digit(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, size, _ = a_place(content, data)
    content["boots"][boot_index]["sizes"][size]["gtin"] = data.draw(
        st.sampled_from("012346789").map("200000000001".__add__)
    )
    return ("boots", boot_index, "sizes", size, "gtin"), "catalog-gtin-check-digit"


def hide_a_character(content: dict[str, Any], data: st.DataObject) -> tuple[tuple[str | int, ...], str]:
    boot_index, _, _ = a_place(content, data)
    content["boots"][boot_index]["name"] += data.draw(st.sampled_from(["\u0000", "\u200b", "\u202e", "\x1bx"]))
    return ("boots", boot_index, "name"), "catalog-unseen-character"


CORRUPTIONS: list[Corruption] = [
    invert_a_range,
    take_an_end_away,
    spoil_an_end,
    leave_the_hoof_behind,
    take_both_axes_away,
    put_the_largest_size_first,
    give_a_size_code_twice,
    leave_a_member_out,
    add_a_member,
    misspell_a_word,
    misspell_a_use,
    mix_rest_and_motion,
    write_the_id_in_capitals,
    name_a_strange_maker,
    name_a_strange_successor,
    let_a_boot_succeed_itself,
    end_on_no_day,
    spoil_the_check_digit,
    hide_a_character,
]


@pytest.mark.parametrize("corrupt", CORRUPTIONS)
@settings(bounded, max_examples=12)
@given(records(), st.data())
def test_a_single_corruption_is_the_only_fault_and_named_at_its_place(
    corrupt: Corruption, edition: Records, data: st.DataObject
) -> None:
    content = {"format": FORMAT, **edition}
    place, code = corrupt(content, data)
    assert faults_of(content) == {(("0", *place), code)}


@bounded
@given(
    st.permutations([one for one in CORRUPTIONS if one not in (write_the_id_in_capitals, leave_a_member_out)]),
    st.data(),
)
def test_corruptions_of_several_files_are_all_named(corruptions: list[Corruption], data: st.DataObject) -> None:
    expected = set()
    contents: list[dict[str, Any]] = []
    for place, corrupt in enumerate(corruptions[:3]):
        its_boot = boot(id=f"vellory-{place}", sizes=[dict(size) for size in boot()["sizes"]])
        content = {"format": FORMAT, "boots": [its_boot], "accessories": []}
        steps, code = corrupt(content, data)
        expected.add(((str(place), *steps), code))
        contents.append(content)
    contents[0]["makers"] = [{"id": "vellory", "name": "Vellory"}]
    assert faults_of(*contents) == expected


def test_nothing_is_called_unknown_while_an_id_is_in_doubt() -> None:
    content = edition(boot(id="MARLOWICK"), boot(id="old", discontinued_on="2025-01-31", successor="marlowick"))
    assert faults_of(content) == {(("0", "boots", 0, "id"), "catalog-identifier")}


@bounded
@given(records(), anything, st.data())
def test_whatever_stands_in_one_place_the_edition_is_read_or_refused(
    edition: Records, replacement: object, data: st.DataObject
) -> None:
    content = {"format": FORMAT, **edition}
    *above, last = data.draw(st.sampled_from(sorted(places(content), key=str)))
    holder: Any = content
    for step in above:
        holder = holder[step]
    holder[last] = replacement
    with suppress(InputRefused):
        assert read_files([as_file(content)], plugin="demo").makers


@bounded
@given(st.binary(max_size=60) | anything.map(lambda value: json.dumps(value).encode()))
def test_any_bytes_that_are_no_catalog_file_are_refused_at_the_file(content: bytes) -> None:
    file = as_file({})
    with pytest.raises(InputRefused) as refused:
        read_files([type(file)(source="odd.json", retrieved_on=RETRIEVED_ON, content=content)], plugin="demo")
    assert {fault.path[0] for fault in refused.value.faults} == {"odd.json"}


@pytest.mark.parametrize("content", [b"[" * 100_000, b"1" * 5_000, b'{"a": NaN}', b'"\xff"', b"", b'{"format"'])
def test_a_file_that_is_no_json_is_one_fault_and_hides_none_in_the_others(content: bytes) -> None:
    odd = type(as_file({}))(source="odd.json", retrieved_on=RETRIEVED_ON, content=content)
    with pytest.raises(InputRefused) as refused:
        read_files([odd, as_file(edition(boot(shape="oval")), source="b.json")], plugin="demo")
    assert [(fault.path, fault.code) for fault in refused.value.faults] == [
        (("b.json", "boots", 0, "shape"), "catalog-not-one-of"),
        (("odd.json",), "catalog-not-json"),
    ]


def test_a_member_given_twice_is_named() -> None:
    written = json.dumps(edition(boot())).replace('"name": "Marlowick"', '"name": "Marlowick", "name": "Pelverne"')
    file = as_file({})
    with pytest.raises(InputRefused) as refused:
        read_files([type(file)(source="a", retrieved_on=RETRIEVED_ON, content=written.encode())], plugin="demo")
    (fault,) = refused.value.faults
    assert (fault.path, fault.code) == (("a", "boots", 0, "name"), "catalog-repeated-member")


@pytest.mark.parametrize(
    ("unit", "written", "suspected"),
    [("mm", [12.4, 12.8], "cm"), ("mm", ["4 7/8", 5], "in"), ("cm", [124, 128], "mm"), ("in", [12.4, 12.8], "cm")],
)
def test_a_slip_of_the_unit_is_suspected(unit: str, written: list[object], suspected: str) -> None:
    step = {"mm": 1, "cm": 0.1, "in": "1/8"}[unit]
    content = edition(boot(chart_unit=unit, chart_step=step, sizes=[{"code": "fern", "width": written}]))
    (fault,) = refusal(content).faults
    assert fault.code == "catalog-unit-slip"
    assert fault.facts["suspected_unit"] == suspected


@pytest.mark.parametrize(("unit", "step"), [("mm", 0.01), ("cm", 5), ("in", 2), ("mm", 26)])
def test_a_step_that_no_chart_is_rounded_to_is_refused(unit: str, step: float) -> None:
    sizes = [{"code": "fern", "width": {"mm": [118, 122], "cm": [11.8, 12.2], "in": [5, 6]}[unit]}]
    content = edition(boot(chart_unit=unit, chart_step=step, sizes=sizes))
    assert faults_of(content) == {(("0", "boots", 0, "chart_step"), "catalog-step-outside")}


def test_sizes_may_overlap_but_none_may_repeat_the_one_before() -> None:
    overlapping = [{"code": "fern", "width": [118, 126]}, {"code": "oak", "width": [122, 130]}]
    assert len(only_boot(edition(boot(sizes=overlapping))).sizes) == 2
    same = [{"code": "fern", "width": [118, 126]}, {"code": "oak", "width": [118, 126]}]
    assert faults_of(edition(boot(sizes=same))) == {(("0", "boots", 0, "sizes", 1), "catalog-size-order")}


def test_what_is_given_twice_tells_where_it_stood_first() -> None:
    twins = [{"code": code, "width": [low, low + 4], "gtin": "2000000000015"} for code, low in (("a", 100), ("b", 105))]
    other = {"format": FORMAT, "boots": [boot(sizes=twins)]}
    faults = {fault.code: fault for fault in refusal(edition(boot()), other).faults}
    assert faults["catalog-repeated-id"].path == ("1", "boots", 0, "id")
    assert faults["catalog-repeated-id"].facts == {"first": "/0/boots/0/id"}
    assert faults["catalog-repeated-gtin"].path == ("1", "boots", 0, "sizes", 1, "gtin")
    assert faults["catalog-repeated-gtin"].facts == {"first": "/1/boots/0/sizes/0/gtin"}


def test_where_a_thing_stood_first_is_told_as_people_call_the_place() -> None:
    twins = [{"code": code, "width": [low, low + 4], "gtin": "2000000000015"} for code, low in (("a", 100), ("b", 105))]
    file = replace(
        as_file(edition(boot(sizes=twins), boot()), source="list.txt"),
        places={"/boots/0": "line 2", "/boots/0/sizes/0": "line 3", "/boots/1": "line 9"},
    )
    with pytest.raises(InputRefused) as refused:
        read_files([file], plugin="demo")
    faults = {fault.code: (fault.path, fault.facts) for fault in refused.value.faults}
    assert faults["catalog-repeated-id"] == (("list.txt", "line 9"), {"first": "list.txt line 2"})
    assert faults["catalog-repeated-gtin"] == (("list.txt", "line 2"), {"first": "list.txt line 3"})


def test_successors_that_lead_back_are_named_at_each_of_them_and_nowhere_else() -> None:
    def old(name: str, successor: str) -> dict[str, Any]:
        return boot(id=name, discontinued_on="2025-01-31", successor=successor)

    content = edition(old("first", "second"), old("second", "third"), old("third", "second"))
    assert faults_of(content) == {
        (("0", "boots", 1, "successor"), "catalog-successor-circle"),
        (("0", "boots", 2, "successor"), "catalog-successor-circle"),
    }


def test_a_boot_that_is_still_sold_has_no_successor() -> None:
    content = edition(boot(successor="vellory-pelverne"), boot(id="vellory-pelverne"))
    assert faults_of(content) == {(("0", "boots", 0, "successor"), "catalog-successor-of-current")}


def pad(**members: object) -> dict[str, Any]:
    sizes = [{"code": "leaf", "goes_with": {"vellory-marlowick": ["sorrel", "tansy"]}}]
    return {"id": "pad", "maker": "vellory", "name": "P", "kind": "pad", "sold_as": "pair", "sizes": sizes, **members}


def test_an_accessory_goes_only_with_boots_and_sizes_that_there_are() -> None:
    sizes = [
        {"code": "leaf", "goes_with": {"vellory-marlowick": ["sorrel", "sorell"]}},
        {"code": "bush", "goes_with": {"vellory-marlowik": ["tansy"]}},
    ]
    place = ("0", "accessories", 0, "sizes")
    assert faults_of(edition(boot(), accessories=[pad(sizes=sizes)])) == {
        ((*place, 0, "goes_with", "vellory-marlowick", 1), "catalog-unknown-size"),
        ((*place, 1, "goes_with", "vellory-marlowik"), "catalog-unknown-boot"),
    }


def test_a_pad_goes_only_with_boots_that_take_its_thickness() -> None:
    accepted = edition(boot(max_pad_mm=6), accessories=[pad(thickness_mm=6)])
    assert len(read_files([as_file(accepted)], plugin="demo").accessories) == 1
    place = ("0", "accessories", 0, "sizes", 0, "goes_with", "vellory-marlowick")
    too_thick = edition(boot(max_pad_mm=6), accessories=[pad(thickness_mm=6.5)])
    assert faults_of(too_thick) == {(place, "catalog-pad-too-thick")}


def test_a_misspelt_word_is_told_with_the_most_similar_first() -> None:
    (fault,) = refusal(edition(boot(closure="bukle"))).faults
    assert str(fault.facts["accepted"]).startswith("buckle, ")
    assert fault.received == "bukle"


def ending(code: str, low: int, **members: object) -> dict[str, Any]:
    return {"code": code, "width": [low, low + 4], "discontinued_on": "2025-02-01", **members}


def test_a_size_is_read_with_its_days_and_its_successor() -> None:
    sizes = [
        ending("sorrel", 118, successor={"size": "tansy"}),
        ending("tansy", 118, successor={"boot": "vellory-pelverne", "size": "tansy"}, available_from="2024-01-01"),
    ]
    content = edition(boot(sizes=sizes, available_from="2023-01-01"), boot(id="vellory-pelverne"))
    read = next(iter(read_files([as_file(content)], plugin="demo").boots.values()))
    assert read.available_from == date(2023, 1, 1)
    assert [(size.available_from, size.discontinued_on) for size in read.sizes] == [
        (None, date(2025, 2, 1)),
        (date(2024, 1, 1), date(2025, 2, 1)),
    ]
    assert [size.successor for size in read.sizes] == [
        SizeSuccessor(boot=BootId("vellory-marlowick"), size=SizeCode("tansy")),
        SizeSuccessor(boot=BootId("vellory-pelverne"), size=SizeCode("tansy")),
    ]


def test_a_size_leads_only_to_boots_and_sizes_that_there_are() -> None:
    sizes = [
        ending("sorrel", 118, successor={"size": "tanzy"}),
        ending("tansy", 123, successor={"boot": "vellory-pelvern", "size": "tansy"}),
    ]
    place = ("0", "boots", 0, "sizes")
    assert faults_of(edition(boot(sizes=sizes), boot(id="vellory-pelverne"))) == {
        ((*place, 0, "successor", "size"), "catalog-unknown-size"),
        ((*place, 1, "successor", "boot"), "catalog-unknown-boot"),
    }


def test_sizes_that_lead_back_are_named_at_each_of_them_and_nowhere_else() -> None:
    first = [ending("a", 118, successor={"size": "b"}), ending("b", 123, successor={"boot": "vellory-2", "size": "c"})]
    second = [ending("c", 118, successor={"boot": "vellory-1", "size": "b"})]
    content = edition(boot(id="vellory-1", sizes=first), boot(id="vellory-2", sizes=second))
    assert faults_of(content) == {
        (("0", "boots", 0, "sizes", 1, "successor"), "catalog-successor-circle"),
        (("0", "boots", 1, "sizes", 0, "successor"), "catalog-successor-circle"),
    }


def test_a_size_that_is_still_sold_has_no_successor_unless_its_boot_model_ended() -> None:
    sizes = [
        {"code": "sorrel", "width": [118, 122], "successor": {"size": "tansy"}},
        {"code": "tansy", "width": [123, 127]},
    ]
    place = ("0", "boots", 0, "sizes", 0, "successor")
    assert faults_of(edition(boot(sizes=sizes))) == {(place, "catalog-successor-of-current")}
    assert only_boot(edition(boot(sizes=sizes, discontinued_on="2025-02-01"))).sizes[0].successor is not None


def test_a_new_size_may_repeat_the_range_of_the_one_whose_place_it_takes() -> None:
    sizes = [ending("sorrel", 118, successor={"size": "thyme"}), {"code": "thyme", "width": [118, 122]}]
    assert len(only_boot(edition(boot(sizes=sizes))).sizes) == 2
    smaller = [ending("sorrel", 118), {"code": "thyme", "width": [117, 121]}]
    assert faults_of(edition(boot(sizes=smaller))) == {(("0", "boots", 0, "sizes", 1), "catalog-size-order")}


@pytest.mark.parametrize("ended", ["2025-02-01", "2025-01-31"])
def test_nothing_ends_before_it_began(ended: str) -> None:
    days = {"available_from": "2025-02-01", "discontinued_on": ended}
    sizes = [{"code": "sorrel", "width": [118, 122], **days}, {"code": "tansy", "width": [123, 127]}]
    assert faults_of(edition(boot(sizes=sizes, **days))) == {
        (("0", "boots", 0, "discontinued_on"), "catalog-days-reversed"),
        (("0", "boots", 0, "sizes", 0, "discontinued_on"), "catalog-days-reversed"),
    }
