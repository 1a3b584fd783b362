"""Validation: whatever was found is told once, with its severity, and at the place where its editor mends it."""

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from tests.matching.worlds import boot, release_of

from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import Doubt
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.name_doubts import name_doubts
from hooflast.catalog.placing import files_of
from hooflast.catalog.plugin import CatalogFile, Fate, RowFate
from hooflast.catalog.reading import read_files
from hooflast.catalog.release import compose_release
from hooflast.catalog.validation import GRADE_OF_DOUBT, Grade, Waiting, validate
from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.errors import Fault, InputRefused, PluginFailed

DAY = date(2026, 3, 1)


def fault(*path: str | int, code: str = "catalog-range-inverted") -> Fault:
    return Fault(path=path, code=code, received=None)


def test_every_doubt_has_a_severity_and_none_is_an_error() -> None:
    assert set(GRADE_OF_DOUBT) == set(DoubtCode)
    assert Grade.ERROR not in GRADE_OF_DOUBT.values()


def test_what_was_left_out_is_an_error_and_what_was_used_is_nothing() -> None:
    report = PluginReport(
        plugin="chart",
        version="1",
        faults=(fault("west.json", "boots", 0, "sizes", 1, "width"), fault("chart.csv", "C7"), fault()),
        rows=(
            RowFate(place="row 1", fate=Fate.SKIPPED, why="it is empty"),
            RowFate(place="row 2", fate=Fate.USED),
            RowFate(place="row 3", fate=Fate.REFUSED, why="no size"),
        ),
    )
    found = validate(None, plugins=[report])
    told = [(point.severity.value, point.source, point.place) for point in found.points]
    assert told == [
        ("error", "west.json", "/boots/0/sizes/1/width"),
        ("error", "chart.csv", "C7"),
        ("error", "", ""),
        ("error", "", "row 3"),
        ("note", "", "row 1"),
    ]
    assert [found.count(grade) for grade in Grade] == [4, 0, 1]


def test_a_plugin_that_failed_is_an_error_one_that_waits_a_note_and_an_id_of_anothers_a_warning() -> None:
    reports = [
        PluginReport(plugin="hedge", version="1", failure=PluginFailed(plugin="hedge", reason="it hangs")),
        PluginReport(plugin="feed", version="1", waits_for=("url",)),
        PluginReport(plugin="late", version="1", faults=(fault("a.json", "boots", "b", code="catalog-id-taken"),)),
    ]
    found = {point.plugin: point for point in validate(None, plugins=reports).points}
    assert {plugin: point.severity.value for plugin, point in found.items()} == {
        "hedge": "error",
        "feed": "note",
        "late": "warning",
    }
    assert found["feed"].found == Waiting(settings=("url",))


def test_the_gravest_come_first() -> None:
    report = PluginReport(plugin="feed", version="1", waits_for=("url",), faults=(fault("a.json"),))
    wide = replace(boot("amble"), sizes=(Size(code=SizeCode("a"), width=Range(low_mm=100, high_mm=140), length=None),))
    order = [point.severity for point in validate(release_of(wide), plugins=[report]).points]
    assert order == sorted(order, key=list(Grade).index)
    assert set(order) == set(Grade)


def catalog_file(*widths: tuple[float, float], places: Mapping[str, str] | None = None) -> CatalogFile:
    content: dict[str, Any] = {
        "format": "hooflast-catalog-1",
        "makers": [{"id": "vellory-north", "name": "Vellory North"}],
        "boots": [
            {
                "id": f"vellory-north-{name}",
                "maker": "vellory-north",
                "name": name.title(),
                "closure": "buckle",
                "shape": "round",
                "limbs": "all",
                "animal_types": ["horse"],
                "intended_uses": ["hacking"],
                "chart_unit": "mm",
                "chart_step": 1,
                "sold_as": "single",
                "sizes": [
                    {"code": f"size-{number}", "width": list(width), "length": [120 + 7 * number, 126 + 7 * number]}
                    for number, width in enumerate(widths)
                ],
            }
            for name in ("alder", "birch")
        ],
    }
    return CatalogFile(source="north.json", retrieved_on=DAY, content=json.dumps(content).encode(), places=places or {})


def found_in(file: CatalogFile) -> dict[tuple[str, str], str]:
    """Doubt and boot model, with the place told."""
    release = compose_release(read_files([file], plugin="north"), released_on=DAY, note="")
    points = validate(release, files=files_of([file])).points
    return {(point.found.code.value, point.record): point.place for point in points if isinstance(point.found, Doubt)}


def test_a_doubt_is_placed_where_its_size_stands_in_the_file() -> None:
    assert found_in(catalog_file((100, 106), (107, 140))) == {
        ("range_wide", "vellory-north-alder"): "/boots/0/sizes/1/width",
        ("range_wide", "vellory-north-birch"): "/boots/1/sizes/1/width",
    }


def test_a_doubt_is_placed_in_the_cell_that_its_range_was_read_from_or_in_the_nearest_place_with_a_name() -> None:
    cells = {"/boots/0/sizes/1/width": "C4", "/boots/1": "row 7"}
    assert found_in(catalog_file((100, 106), (107, 140), places=cells)) == {
        ("range_wide", "vellory-north-alder"): "C4",
        ("range_wide", "vellory-north-birch"): "row 7",
    }


def test_without_the_file_a_doubt_still_names_its_source() -> None:
    release = compose_release(read_files([catalog_file((100, 140))], plugin="north"), released_on=DAY, note="")
    assert {(point.source, point.place) for point in validate(release).points} == {("north.json", "")}


def test_a_file_of_the_same_name_and_other_bytes_places_nothing() -> None:
    release = compose_release(read_files([catalog_file((100, 140))], plugin="north"), released_on=DAY, note="")
    another = files_of([catalog_file((100, 141))])
    assert {point.place for point in validate(release, files=another).points} == {""}


def test_a_sound_file_is_found_sound_and_a_faulty_one_has_its_faults_placed() -> None:
    assert found_in(catalog_file((100, 106), (107, 113))) == {}
    with pytest.raises(InputRefused) as refused:
        read_files([catalog_file((106, 100), places={"/boots/0/sizes/0/width": "C3"})], plugin="north")
    points = validate(None, plugins=[PluginReport(plugin="north", version="1", faults=refused.value.faults)]).points
    assert {(point.place, point.severity) for point in points} == {
        ("C3", Grade.ERROR),
        ("/boots/1/sizes/0/width", Grade.ERROR),
    }


class TestNames:
    def test_two_boot_models_of_one_maker_heard_as_one_are_doubted(self) -> None:
        one, other = replace(boot("amble"), name="Long Amble"), replace(boot("brook"), name="long  amble")
        found = [(code, model.id) for code, model, _ in name_doubts([one, other], among=[one, other])]
        assert found == [
            (DoubtCode.SAME_NAME, "amble"),
            (DoubtCode.SAME_NAME, "brook"),
            (DoubtCode.NAME_SPACED, "brook"),
        ]

    def test_a_successor_may_keep_the_name_of_what_was_discontinued(self) -> None:
        old = replace(boot("amble"), name="Amble", discontinued_on=DAY)
        new = replace(boot("brook"), name="Amble")
        assert list(name_doubts([old, new], among=[old, new])) == []

    def test_size_codes_heard_as_one_are_doubted(self) -> None:
        model = boot("amble")
        codes = [SizeCode("Wren"), SizeCode("wr en"), SizeCode("finch")]
        sizes = tuple(replace(model.sizes[0], code=code) for code in codes)
        ((code, _, facts),) = name_doubts([replace(model, sizes=sizes)], among=[])
        assert (code, facts["size"], facts["other_size"]) == (DoubtCode.CODES_ALIKE, "Wren", "wr en")
