"""Loading: whatever one plugin does, the others' boots are there, and it is named with the reason."""

import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from importlib.metadata import EntryPoint
from itertools import count
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from hooflast.catalog.loading import LoadedCatalog, PluginReport, load_catalog
from hooflast.catalog.offers import MOST_FILE_BYTES, MOST_FILES
from hooflast.catalog.plugin import Edition
from hooflast.errors import CatalogUnavailable

from .strategies import FORMAT, as_file

SPRING, AUTUMN = date(2025, 3, 1), date(2025, 9, 1)


def content(*boots: str, maker: str = "vellory", **members: object) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "makers": [{"id": maker, "name": maker.title()}],
        "boots": [
            {
                "id": boot,
                "maker": maker,
                "name": boot.title(),
                "closure": "strap",
                "shape": "round",
                "limbs": "all",
                "animal_types": ["horse"],
                "intended_uses": ["hacking"],
                "sold_as": "single",
                "chart_unit": "mm",
                "chart_step": 1,
                "sizes": [{"code": "fern", "width": [118, 122]}],
                **members,
            }
            for boot in boots
        ],
    }


def edition(content: object, *, day: date = SPRING, note: str = "") -> Edition:
    return Edition(released_on=day, files=[as_file(content)], note=note)


class Plugin:
    """A plugin that offers the editions it was made with."""

    interface_version = 1

    def __init__(self, name: str, *editions: Edition) -> None:
        self.name = name
        self._editions = editions

    def editions(self) -> tuple[Edition, ...]:
        return self._editions


class Entry(EntryPoint):
    """An entry point whose object is at hand."""

    def load(self) -> Any:
        return PLUGINS[self.value]


PLUGINS: dict[str, object] = {}


def entry(name: str, plugin: object) -> EntryPoint:
    PLUGINS[f"{name}:{id(plugin)}"] = plugin
    return Entry(name, f"{name}:{id(plugin)}", "hooflast.catalog")


GOOD = Plugin("good", edition(content("marlowick"), note="First."))


def load(*plugins: Any) -> LoadedCatalog:
    return load_catalog([entry(plugin.name, plugin) for plugin in plugins])


def report_on(name: str, loaded: LoadedCatalog) -> PluginReport:
    (report,) = (report for report in loaded.reports if report.plugin == name)
    return report


class Raising(Plugin):
    def editions(self) -> tuple[Edition, ...]:
        raise RuntimeError("the disk is full")


class RaisingLate(Plugin):
    def editions(self) -> Iterator[Edition]:  # type: ignore[override]
        yield edition(content("pelverne", maker="ombrick"))
        raise KeyError("second")


class Leaving(Plugin):
    def editions(self) -> tuple[Edition, ...]:
        sys.exit(3)


class Sinking(Plugin):
    def editions(self) -> tuple[Edition, ...]:
        return self.editions()


class Endless(Plugin):
    def editions(self) -> Iterator[Edition]:  # type: ignore[override]
        return (edition(content("pelverne"), day=date.fromordinal(700_000 + number)) for number in count())


class EndlessFiles(Plugin):
    def editions(self) -> Any:
        files = (as_file({}, source=str(number)) for number in count())
        return [Edition(released_on=SPRING, files=files)]  # type: ignore[arg-type]


class Mute(Exception):
    def __str__(self) -> str:
        raise ValueError("no words")


class RaisingMute(Plugin):
    def editions(self) -> tuple[Edition, ...]:
        raise Mute


class Older(Plugin):
    interface_version = 0


class Nameless(Plugin):
    @property
    def name(self) -> str:
        raise AttributeError("name")

    @name.setter
    def name(self, _: str) -> None:
        pass


def with_file(**members: object) -> Plugin:
    file = replace(as_file(content("pelverne", maker="ombrick")), **members)  # type: ignore[arg-type]
    return Plugin("bad", Edition(released_on=SPRING, files=[file]))


BAD: dict[str, object] = {
    "raises": Raising("bad"),
    "raises late": RaisingLate("bad"),
    "exits": Leaving("bad"),
    "recurses": Sinking("bad"),
    "never ends": Endless("bad"),
    "files never end": EndlessFiles("bad"),
    "raises what cannot be told": RaisingMute("bad"),
    "older interface": Older("bad", edition(content("pelverne", maker="ombrick"))),
    "no name": Nameless("bad"),
    "name in capitals": Plugin("BAD"),
    "a class": Plugin,
    "nothing": None,
    "a module": ModuleType("bad"),
    "offers texts": Plugin("bad", "2025-03-01"),  # type: ignore[arg-type]
    "offers nothing to iterate": type("Odd", (Plugin,), {"editions": lambda self: 5})("bad"),
    "no files": Plugin("bad", Edition(released_on=SPRING, files=[])),
    "too many files": Plugin("bad", Edition(released_on=SPRING, files=[as_file({})] * (MOST_FILES + 1))),
    "one source twice": Plugin("bad", Edition(released_on=SPRING, files=[as_file({}), as_file({})])),
    "one day twice": Plugin("bad", edition(content("a-boot", maker="b-maker")), edition(content("c-boot"))),
    "a moment for a day": with_file(retrieved_on=datetime(2025, 3, 1)),  # noqa: DTZ001
    "text for bytes": with_file(content="{}"),
    "too large": with_file(content=b" " * (MOST_FILE_BYTES + 1)),
    "a source that cannot be printed": with_file(source="\ud800"),
    "files of another kind": Plugin("bad", Edition(released_on=SPRING, files=[{"format": FORMAT}])),  # type: ignore[list-item]
}


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD.keys())
def test_a_failing_plugin_never_removes_anothers_boots_and_is_named(bad: object) -> None:
    loaded = load_catalog([entry("bad", bad), entry("good", GOOD)])
    assert loaded.library.active == load(GOOD).library.active
    report = report_on("bad", loaded)
    assert report.failure is not None
    assert report.failure.plugin == "bad"
    assert report.failure.reason
    assert report_on("good", loaded).failure is None


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("raise SystemExit(1)", "SystemExit"),
        ("import a_module_that_is_not_there", "ModuleNotFoundError"),
        ("plugin =", "SyntaxError"),
        ("", "AttributeError"),
    ],
)
def test_a_plugin_that_cannot_be_imported_is_set_aside(
    written: str, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "broken_plugin.py").write_text(written)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "broken_plugin", raising=False)
    broken = EntryPoint("broken", "broken_plugin:plugin", "hooflast.catalog")
    loaded = load_catalog([broken, entry("good", GOOD)])
    assert list(loaded.library.active.boots) == ["marlowick"]
    assert reason in str(report_on("broken", loaded).failure)


@pytest.mark.parametrize(
    "spoilt", [content("pelverne", closure="glue"), content("pelverne", maker="X"), [], {"format": "other"}]
)
def test_an_edition_with_faults_is_refused_with_all_of_them_and_the_rest_goes_on(spoilt: object) -> None:
    both = Plugin("both", edition(content("pelverne", maker="ombrick")), edition(spoilt, day=AUTUMN))
    loaded = load(GOOD, both)
    report = report_on("both", loaded)
    assert (report.editions, report.refused, report.failure) == ((SPRING,), (AUTUMN,), None)
    assert report.faults
    assert {fault.path[0] for fault in report.faults} == {"all.json"}
    assert set(loaded.library.active.boots) == {"marlowick", "pelverne"}


def test_each_day_has_one_release_of_all_plugins_newest_editions() -> None:
    first = Plugin(
        "first", edition(content("a-boot"), note="A."), edition(content("a-boot", "b-boot"), day=AUTUMN, note="B.")
    )
    second = Plugin("second", edition(content("c-boot", maker="ombrick"), day=date(2025, 6, 1), note="C."))
    releases = load(second, first).library.releases
    assert [(one.edition, sorted(one.boots), sorted(one.makers), one.note) for one in releases] == [
        ("2025-03-01", ["a-boot"], ["vellory"], "A."),
        ("2025-06-01", ["a-boot", "c-boot"], ["ombrick", "vellory"], "C."),
        ("2025-09-01", ["a-boot", "b-boot", "c-boot"], ["ombrick", "vellory"], "B."),
    ]


def test_the_order_of_plugins_changes_nothing() -> None:
    plugins = [GOOD, Plugin("other", edition(content("pelverne", maker="ombrick")))]
    assert load(*plugins).library == load(*reversed(plugins)).library


def test_an_id_belongs_to_the_plugin_that_published_it_first() -> None:
    late = Plugin("a-late-one", edition(content("marlowick", maker="ombrick"), day=AUTUMN))
    loaded = load(late, GOOD)
    assert loaded.library.active.boots["marlowick"].maker == "vellory"  # type: ignore[index]
    report = report_on("a-late-one", loaded)
    assert report.refused == (AUTUMN,)
    assert [(fault.code, fault.path, fault.facts) for fault in report.faults] == [
        ("catalog-id-taken", ("all.json", "boots", "marlowick"), {"plugin": "good"})
    ]


def test_two_plugins_of_one_name_leave_the_first() -> None:
    twin = Plugin("good", edition(content("pelverne", maker="ombrick")))
    loaded = load_catalog([entry("z-twin", twin), entry("good", GOOD)])
    assert list(loaded.library.active.boots) == ["marlowick"]
    assert report_on("z-twin", loaded).failure is not None


def test_provenance_names_plugin_source_and_day() -> None:
    (boot,) = load(GOOD).library.active.boots.values()
    assert (boot.provenance.plugin, boot.provenance.source) == ("good", "all.json")


def test_without_plugins_the_library_says_that_there_is_no_catalog() -> None:
    with pytest.raises(CatalogUnavailable):
        _ = load_catalog([]).library.active
