"""The form as browsers send it: it says what the document of a match says, and its faults stand beside their fields."""

from typing import Any
from urllib.parse import urlencode

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.exchange.strategies import TODAY, match_documents

from hooflast.api.pages.choices import FIELDS, ONE_OF, SOME_OF, form_schema
from hooflast.api.pages.form import MOST_FIELDS, read_form
from hooflast.api.pages.told import Told
from hooflast.errors import InputRefused
from hooflast.exchange import read_match_question
from hooflast.texts import load_texts

TEXTS = load_texts("en")
LEFT_OUT = {"boots_per_hoof", "catalog_release"}
"""What the form does not ask."""

OF_ONE_HOOF = {"unit", "resolution", "method", "observer", "measured_on", "weeks_since_trim"}
"""What the form asks only once, for all hooves."""


def pairs_of(document: dict[str, Any]) -> list[tuple[str, str]]:
    """A document as the form's fields."""
    pairs: list[tuple[str, str]] = []
    for name, value in document.items():
        if name == "horse":
            pairs += [(f"horse.{member}", written(told)) for member, told in value.items() if told not in (None, False)]
        elif name == "hooves":
            for hoof in value:
                for member in ("width", "length", "allowance"):
                    if hoof.get(member) is not None:
                        repeats = hoof[member] if isinstance(hoof[member], list) else [hoof[member]]
                        pairs.append((f"{hoof['limb']}.{member}", "; ".join(map(written, repeats))))
                pairs += [(f"{hoof['limb']}.states", state) for state in hoof.get("states", ())]
        elif name == "needs":
            pairs += [(f"need.{named['need']}", named.get("course", "acute")) for named in value]
        elif isinstance(value, list):
            pairs += [(name, each) for each in value]
        elif value is not None:
            pairs.append((name, written(value)))
    return pairs


def written(value: object) -> str:
    """The value as a person writes it: a whole number without a decimal."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "true" if value is True else str(value)


def as_the_form_asks(document: dict[str, Any]) -> dict[str, Any]:
    """The document without what the form cannot say."""
    hooves = [{name: value for name, value in hoof.items() if name not in OF_ONE_HOOF} for hoof in document["hooves"]]
    kept = {name: value for name, value in document.items() if name not in LEFT_OUT}
    return {**kept, "hooves": sorted(hooves, key=lambda hoof: ["LF", "RF", "LH", "RH"].index(hoof["limb"]))}


def refusal_of(document: object) -> InputRefused | None:
    try:
        read_match_question(document, today=TODAY)
    except InputRefused as refused:
        return refused
    return None


def faults_of(document: object) -> set[tuple[str, str]]:
    refused = refusal_of(document)
    return set() if refused is None else {(fault.code, fault.pointer) for fault in refused.faults}


@given(match_documents().map(as_the_form_asks))
def test_a_form_asks_what_the_same_document_asks(document: dict[str, Any]) -> None:
    form = read_form(urlencode(pairs_of(document)).encode())
    faults = faults_of(document)
    assert faults_of(form.document()) == faults
    if not faults:
        asked, wanted = (read_match_question(one, today=TODAY) for one in (form.document(), document))
        assert asked == wanted


@given(match_documents().map(as_the_form_asks))
def test_every_field_that_a_form_has_is_declared(document: dict[str, Any]) -> None:
    assert {name for name, _ in pairs_of(document)} <= set(FIELDS)
    assert set(FIELDS) == set(form_schema()["properties"])  # type: ignore[call-overload]


def told(*pairs: tuple[str, str]) -> Told:
    form = read_form(urlencode(pairs).encode())
    with pytest.raises(InputRefused) as caught:
        read_match_question(form.document(), today=TODAY)
    return Told.of(caught.value, form=form, texts=TEXTS)


HOOF = (("LF.width", "124"), ("LF.length", "127"))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("RH.width", "12 stone"),
        ("RH.length", "-3"),
        ("LF.allowance", "9 in"),
        ("LF.states", "purple"),
        ("horse.animal_type", "unicorn"),
        ("horse.girth", "3"),
        ("horse.build", "stout"),
        ("horse.is_foal", "perhaps"),
        ("horse.name", "a\tb"),
        ("unit", "ell"),
        ("method", "eye"),
        ("observer", "neighbour"),
        ("measured_on", "yesterday"),
        ("measured_on", "2030-01-01"),
        ("weeks_since_trim", "soon"),
        ("weeks_since_trim", "-1"),
        ("uses", "flying"),
        ("closures", "glue"),
        ("need.founder", "mild"),
        ("pad", "1 m"),
        ("try_from", "three_below"),
    ],
)
def test_a_fault_stands_beside_its_field(name: str, text: str) -> None:
    beside = ("RH.length" if name == "RH.width" else "RH.width", "120")
    found = told(*HOOF, (name, text), *([beside] if name.startswith("RH") else []))
    assert name in found.by_field
    (one, *_) = [fault for fault in found.faults if fault.field == name]
    assert one.label
    assert one.text.wrong
    assert one.text.accepted


def test_half_a_hoof_asks_for_the_other_half_and_a_state_alone_for_both() -> None:
    assert set(told(("RF.width", "124")).by_field) == {"RF.length"}
    assert set(told(*HOOF, ("LH.states", "flare")).by_field) == {"LH.width", "LH.length"}


def test_no_hoof_at_all_asks_for_the_first() -> None:
    assert set(told(("unit", "mm")).by_field) == {"LF.width"}


@pytest.mark.parametrize(
    "name", ["colour", "horse.colour", "LF.colour", "XX.width", "a.b.c", "need", "hooves", "horse", ""]
)
def test_a_field_that_does_not_exist_is_refused_and_never_passed_over(name: str) -> None:
    found = told(*HOOF, (name, "bay"))
    assert len(found.faults) == 1
    assert found.faults[0].text.place


@pytest.mark.parametrize("name", [name for name in ONE_OF if name != "closures" and not name.startswith("need.")])
def test_a_choice_made_twice_is_refused(name: str) -> None:
    words = [word.value for word in ONE_OF[name]][:2]
    assert name in told(*HOOF, *((name, word) for word in words)).by_field


def test_faults_stand_in_the_order_of_the_page() -> None:
    found = told(("pad", "x"), ("horse.animal_type", "x"), ("RF.width", "x"), ("measured_on", "x"), ("LF.width", "x"))
    fields = [one.field for one in found.faults]
    assert fields == sorted(fields, key=lambda name: FIELDS.index(name or ""))
    assert fields[0] == "horse.animal_type"


def test_repeats_are_parted_by_semicolons() -> None:
    question = read_match_question(
        read_form(urlencode([("LF.width", "124; 125 ;126"), ("LF.length", "12.7 cm; 5 in")]).encode()).document(),
        today=TODAY,
    )
    (reading,) = question.hooves
    assert reading.width.values_mm == (124.0, 125.0, 126.0)
    assert reading.length.values_mm == (127.0, 127.0)


@given(st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
def test_whatever_is_sent_is_read_or_refused(raw: bytes) -> None:
    refused = refusal_of(read_form(raw).document())
    assert refused is None or refused.faults


names = st.sampled_from(FIELDS) | st.text(max_size=8)
words = st.sampled_from([word.value for offered in (ONE_OF | SOME_OF).values() for word in offered]) | st.text(
    max_size=8
)


@given(st.lists(st.tuples(names, words | st.sampled_from(["124", "127", "5 in", ";", "true"])), max_size=12))
def test_every_refusal_can_be_told(pairs: list[tuple[str, str]]) -> None:
    form = read_form(urlencode(pairs, errors="replace").encode())
    refused = refusal_of(form.document())
    if refused is not None:
        found = Told.of(refused, form=form, texts=TEXTS)
        assert len(found.faults) == len(refused.faults)
        assert set(found.by_field) <= set(FIELDS)


def test_a_form_of_too_many_fields_is_refused() -> None:
    with pytest.raises(InputRefused) as caught:
        read_form(urlencode([("uses", "road")] * (MOST_FIELDS + 1)).encode())
    assert caught.value.faults[0].code == "too-big"
