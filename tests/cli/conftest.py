"""What all tests of the command line share: plugins without settings are asked once for all of them."""

from typing import Any

import pytest
from tests import demo

from hooflast.catalog.loading import LoadedCatalog, load_catalog


@pytest.fixture(autouse=True)
def plugins_asked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    def load(*, configured: Any, held: Any = None, **rest: Any) -> LoadedCatalog:
        return load_catalog(configured=configured, held=held or {}, **rest) if configured or held else demo.offered()

    monkeypatch.setattr("hooflast.cli.offered.load_catalog", load)
