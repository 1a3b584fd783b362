"""Pytest plugin: which catalog plugin the suite is run on, with which settings, and what it offers."""

from dataclasses import dataclass, field
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any

import pytest
import yaml

from hooflast.catalog.asking import Asked, Limits, ask_plugin
from hooflast.catalog.offers import Offer
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Held
from hooflast.errors import PluginFailed


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """The plugin that is looked at, and the settings it is given."""

    entry_point: EntryPoint
    settings: dict[str, Any] | None
    offers: list[Offer] = field(default_factory=list)

    def offer(self, *, settings: dict[str, Any] | None = None, held: dict[str, Held] | None = None) -> Offer:
        """What it offers when it is asked. Raises PluginFailed."""
        asked = Asked(settings=self.settings if settings is None else settings, held=held or {})
        return ask_plugin(self.entry_point, asked, limits=Limits())

    def usual(self) -> Offer:
        """What it offers with its settings, asked once for all tests. Fails the test that needs it otherwise."""
        if not self.offers:
            try:
                self.offers.append(self.offer())
            except PluginFailed as failure:
                pytest.fail(f"The plugin could not be asked: {failure.reason}", pytrace=False)
        return self.offers[0]


def pytest_addoption(parser: pytest.Parser) -> None:
    """The options of the suite."""
    group = parser.getgroup("hooflast", "Hooflast catalog plugins")
    group.addoption("--hooflast-plugin", metavar="NAME", help="The entry point of the catalog plugin to look at.")
    group.addoption("--hooflast-settings", metavar="FILE", help="Its settings, in YAML or JSON.")


@pytest.fixture(scope="session")
def hooflast_plugin(request: pytest.FixtureRequest) -> Subject:
    """The catalog plugin that `--hooflast-plugin` names."""
    name = request.config.getoption("--hooflast-plugin")
    if name is None:
        pytest.skip("no plugin is named: --hooflast-plugin NAME")
    found = list(entry_points(group=ENTRY_POINT_GROUP, name=name))
    if len(found) != 1:
        others = ", ".join(sorted(one.name for one in entry_points(group=ENTRY_POINT_GROUP)))
        pytest.fail(f"{len(found)} entry points in {ENTRY_POINT_GROUP} are called {name}; there are: {others}.")
    file = request.config.getoption("--hooflast-settings")
    settings = yaml.safe_load(Path(file).read_text(encoding="utf-8")) if file else None
    return Subject(entry_point=found[0], settings=settings)
