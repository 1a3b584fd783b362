"""Folder: catalog files in JSON and YAML, by edition, from a folder that is not trusted to stay as it is."""

import json
import os
from datetime import UTC, date, datetime
from importlib.metadata import entry_points
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.loading import LoadedCatalog, PluginConfiguration, load_catalog
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Source
from hooflast_folder.plugin import FolderSettings, plugin
from hooflast_folder.yaml_as_json import YamlRefused, yaml_as_json

CHART = {
    "format": "hooflast-catalog-1",
    "makers": [{"id": "quendle", "name": "Quendle"}],
    "boots": [
        {
            "id": "quendle-rill",
            "maker": "quendle",
            "name": "Rill",
            "closure": "strap",
            "shape": "round",
            "limbs": "all",
            "animal_types": ["horse"],
            "intended_uses": ["hacking"],
            "sold_as": "single",
            "chart_unit": "in",
            "chart_step": "1/8",
            "sizes": [{"code": "wren", "width": ["4 5/8", "4 7/8"]}, {"code": "rook", "width": [5, 5.25]}],
        }
    ],
}
DAY = date(2026, 5, 4)


def load(folder: Path) -> LoadedCatalog:
    found = entry_points(group=ENTRY_POINT_GROUP, name="folder")
    return load_catalog(found, configured={"folder": PluginConfiguration(settings={"folder": str(folder)})})


def put(folder: Path, name: str, content: str) -> Path:
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(content, encoding="utf-8")
    moment = datetime(DAY.year, DAY.month, DAY.day, 12, tzinfo=UTC).timestamp()
    os.utime(file, (moment, moment))
    return file


def test_yaml_and_json_offer_the_same(tmp_path: Path) -> None:
    put(tmp_path / "one", "quendle.json", json.dumps(CHART))
    put(tmp_path / "two", "quendle.yaml", yaml.safe_dump(CHART))
    one, two = (load(tmp_path / name).library.active for name in ("one", "two"))
    assert one.id == two.id
    assert [size.code for size in one.boots["quendle-rill"].sizes] == ["wren", "rook"]  # type: ignore[index]


def test_each_folder_named_by_a_day_is_an_edition_with_its_note(tmp_path: Path) -> None:
    put(tmp_path, "2026-03-01/quendle.json", json.dumps(CHART))
    put(tmp_path, "2026-03-01/note.txt", "The first boot.\n")
    put(tmp_path, "quendle.yml", yaml.safe_dump(CHART))
    put(tmp_path, "drafts/quendle.json", "{")
    put(tmp_path, ".hidden.json", "{")
    put(tmp_path, "readme.md", "Boots.")
    releases = load(tmp_path).library.releases
    assert [(one.released_on, one.note) for one in releases] == [(date(2026, 3, 1), "The first boot."), (DAY, "")]


def test_files_changed_on_different_days_are_one_edition_of_the_newest(tmp_path: Path) -> None:
    older = put(tmp_path, "makers.json", json.dumps({key: CHART[key] for key in ("format", "makers")}))
    os.utime(older, (0, 0))
    put(tmp_path, "boots.json", json.dumps({key: CHART[key] for key in ("format", "boots")}))
    (release,) = load(tmp_path).library.releases
    assert (release.released_on, list(release.boots)) == (DAY, ["quendle-rill"])


@pytest.mark.parametrize(("complete", "offered"), [(False, 2), (True, 1)])
def test_a_folder_is_complete_if_its_settings_say_so(complete: bool, offered: int, tmp_path: Path) -> None:
    put(tmp_path, "2026-03-01/quendle.json", json.dumps(CHART))
    other = json.loads(json.dumps(CHART).replace("quendle-rill", "quendle-fen"))
    put(tmp_path, "2026-04-01/quendle.json", json.dumps(other))
    settings = {"folder": str(tmp_path), "complete": complete}
    found = entry_points(group=ENTRY_POINT_GROUP, name="folder")
    loaded = load_catalog(found, configured={"folder": PluginConfiguration(settings=settings)})
    assert len(loaded.library.active.boots) == offered


def test_a_fault_is_told_with_file_and_place(tmp_path: Path) -> None:
    spoilt = json.loads(json.dumps(CHART))
    spoilt["boots"][0]["sizes"][1]["width"] = ["5 1/4", 5]
    put(tmp_path, "quendle.yaml", yaml.safe_dump(spoilt))
    (report,) = load(tmp_path).reports
    assert [(fault.code, fault.path) for fault in report.faults] == [
        ("catalog-range-inverted", ("quendle.yaml", "boots", 0, "sizes", 1, "width"))
    ]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    (report,) = load(tmp_path / "nowhere").reports
    assert "folder" in str(report.failure)


def test_without_a_folder_it_waits(tmp_path: Path) -> None:
    (report,) = load_catalog(entry_points(group=ENTRY_POINT_GROUP, name="folder")).reports
    assert (report.waits_for, report.failure) == (("folder",), None)


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    outside = put(tmp_path, "outside.json", json.dumps(CHART))
    (tmp_path / "inside").mkdir()
    (tmp_path / "inside" / "link.json").symlink_to(outside)
    with pytest.raises(ValueError, match="out of"):
        plugin.fetch(Source(name="link.json"), settings=FolderSettings(folder=tmp_path / "inside"), held=None)


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("a: &x [1]\nb: *x", "alias"),
        ("a: !!python/object:os.system x", "tag"),
        ("a: 1\na: 2", "twice"),
        ("[" * 30 + "]" * 30, "levels"),
        ("a: [", "expected"),
        ("? [a]\n: 1", "no text"),
        (b"\xff", "UTF-8"),
    ],
)
def test_yaml_that_json_has_no_word_for_is_refused(written: str | bytes, why: str) -> None:
    with pytest.raises(YamlRefused, match=why):
        yaml_as_json(written if isinstance(written, bytes) else written.encode())


def test_words_days_and_octals_stay_what_they_look_like() -> None:
    written = b"a: no\nb: 2026-03-14\nc: 012\nd: 1.5\ne: true\nf:\ng: '7'\nh: 12\n"
    assert json.loads(yaml_as_json(written)) == {
        "a": "no", "b": "2026-03-14", "c": "012", "d": 1.5, "e": True, "f": None, "g": "7", "h": 12,
    }  # fmt: skip


printable = st.text(st.characters(min_codepoint=32, max_codepoint=126))
plain_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | printable,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1), inner, max_size=3),
    max_leaves=8,
)


@given(plain_values)
def test_json_is_yaml_that_stands_for_itself(value: object) -> None:
    assert json.loads(yaml_as_json(json.dumps(value).encode())) == value
