"""Pytest plugin: which catalog plugin the suite is run on, with which settings, and within which time."""

import pytest

from hooflast.catalog.asking import Limits
from hooflast.catalog.offers import Offer
from hooflast_author_kit.looking import Looked
from hooflast_author_kit.subject import NoSubject, Subject, find_subject

_SUBJECT = pytest.StashKey[Subject]()


def pytest_addoption(parser: pytest.Parser) -> None:
    """The options of the suite."""
    group = parser.getgroup("hooflast", "Hooflast catalog plugins")
    group.addoption("--hooflast-plugin", metavar="NAME", help="The entry point of the catalog plugin to look at.")
    group.addoption(
        "--hooflast-settings", metavar="FILE", help="Its settings, or a plugins file with them: YAML, JSON."
    )
    seconds = Limits().seconds
    group.addoption(
        "--hooflast-seconds", metavar="N", type=float, default=seconds, help=f"How long it may take: {seconds:g}."
    )


def pytest_configure(config: pytest.Config) -> None:
    """Find the plugin before anything is run. Raises UsageError."""
    name = config.getoption("--hooflast-plugin")
    if name is None:
        return
    try:
        config.stash[_SUBJECT] = find_subject(
            name,
            settings_file=config.getoption("--hooflast-settings"),
            seconds=config.getoption("--hooflast-seconds"),
        )
    except NoSubject as refused:
        raise pytest.UsageError(str(refused)) from None


@pytest.fixture(scope="session")
def hooflast_plugin(request: pytest.FixtureRequest) -> Subject:
    """The catalog plugin that `--hooflast-plugin` names."""
    if _SUBJECT not in request.config.stash:
        pytest.skip("No plugin is named: --hooflast-plugin NAME.")
    return request.config.stash[_SUBJECT]


@pytest.fixture(scope="session")
def looked(hooflast_plugin: Subject) -> Looked:
    """What the plugin says of itself. A plugin that cannot be loaded is told of once, by the test that loads it."""
    if hooflast_plugin.looked.fault:
        pytest.skip("It could not be loaded.")
    return hooflast_plugin.looked


@pytest.fixture(scope="session")
def offer(hooflast_plugin: Subject) -> Offer:
    """What the plugin offers. One that cannot be asked is told of once, by the test that asks it."""
    if hooflast_plugin.looked.fault:
        pytest.skip("It could not be loaded.")
    offered = hooflast_plugin.offered
    if not isinstance(offered, Offer):
        pytest.skip("It could not be asked.")
    if not offered.editions:
        pytest.skip("It offers nothing.")
    return offered
