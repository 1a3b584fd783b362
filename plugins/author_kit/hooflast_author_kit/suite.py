"""Suite: what Hooflast relies on in a catalog plugin. Each test says what to do where it does not hold."""

import re
from typing import Any

import pytest

from hooflast.catalog.plugin import INTERFACE_VERSION, About, CatalogPlugin
from hooflast.catalog.reading import read_files
from hooflast.errors import InputRefused, PluginFailed, json_pointer
from hooflast_author_kit.pytest_plugin import Subject


@pytest.fixture(scope="session")
def about(hooflast_plugin: Subject) -> About:
    """What the plugin says of itself."""
    plugin = hooflast_plugin.entry_point.load()
    if isinstance(plugin, type):
        pytest.fail("The entry point names a class. Let it name an object: `plugin = MyBoots()`.", pytrace=False)
    if not isinstance(plugin, CatalogPlugin):
        pytest.fail("The object lacks about, discover, fetch, map or validate. Subclass CatalogPlugin.", pytrace=False)
    assert isinstance(plugin.about, About), "about is no About."
    return plugin.about


def test_it_says_what_it_is(about: About) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9-]{1,79}", about.name), (
        f"The name {about.name!r} is not lower-case letters, digits and hyphens, beginning with a letter."
    )


def test_it_knows_this_version_of_the_interface(about: About) -> None:
    first, last = about.interface
    assert first <= INTERFACE_VERSION <= last, (
        f"It was written for interface versions {first} to {last}; this is {INTERFACE_VERSION}. Look at what changed, "
        f"then widen `interface`."
    )


def test_its_settings_are_described_and_refuse_what_they_do_not_know(about: About) -> None:
    if about.settings is None:
        return
    fields: dict[str, Any] = about.settings.model_fields
    silent = [name for name, one in fields.items() if not one.description]
    assert not silent, f"Say what these settings are, in their Field's description: {', '.join(silent)}."
    assert about.settings.model_config.get("extra") == "forbid", (
        "A setting with a slip in its name goes unnoticed. Give the model `model_config = ConfigDict(extra='forbid')`."
    )


def test_it_refuses_settings_it_does_not_have(hooflast_plugin: Subject) -> None:
    settings = {**(hooflast_plugin.settings or {}), "a_setting_that_nobody_has": 1}
    with pytest.raises(PluginFailed, match="a_setting_that_nobody_has"):
        hooflast_plugin.offer(settings=settings)


def test_it_can_be_asked_and_offers_something(hooflast_plugin: Subject) -> None:
    offer = hooflast_plugin.usual()
    assert not offer.waits_for, (
        f"It waits for the settings {', '.join(offer.waits_for)}. Give them: --hooflast-settings FILE."
    )
    assert offer.editions, "It offers no edition. `discover` must find at least one source."


def test_every_edition_is_without_a_fault(hooflast_plugin: Subject) -> None:
    told = []
    for edition in hooflast_plugin.usual().editions:
        told += [f"{edition.released_on}: {finding}" for finding in edition.findings]
        try:
            read_files(edition.files, plugin=hooflast_plugin.usual().plugin)
        except InputRefused as refused:
            told += [
                f"{edition.released_on}: {fault.path[0] if fault.path else ''} {json_pointer(tuple(fault.path[1:]))}: "
                f"{fault.code}, received {fault.received!r} {dict(fault.facts) or ''}"
                for fault in refused.faults
            ]
    assert not told, "These faults would keep an edition out:\n" + "\n".join(told)


def test_it_offers_something_that_can_be_bought(hooflast_plugin: Subject) -> None:
    editions = hooflast_plugin.usual().editions
    boots = [boot for one in editions for boot in read_files(one.files, plugin="own").boots.values()]
    assert boots, "No edition has a boot model."
    assert all(boot.sizes for boot in boots), "A boot model has no sizes."


def test_it_offers_the_same_when_nothing_changed(hooflast_plugin: Subject) -> None:
    first = hooflast_plugin.usual()
    again = hooflast_plugin.offer(held=dict(first.fetched))
    assert again.editions == first.editions, (
        "Asked again, it offers something else. Take days from the source, not from the clock, keep the order of what "
        "you hand over, and give back what is `held` where the source says that it has not changed."
    )


def test_sources_are_called_so_that_they_can_be_found_again(hooflast_plugin: Subject) -> None:
    names = [file.source for edition in hooflast_plugin.usual().editions for file in edition.files]
    vague = [name for name in names if not name.strip() or name.startswith(("/tmp", "C:\\"))]  # noqa: S108
    assert not vague, f"Name sources by what they are, not by where they lie for the moment: {vague}."


def test_no_secret_stands_in_what_it_hands_over(hooflast_plugin: Subject) -> None:
    offer = hooflast_plugin.usual()
    told = " ".join([*(row.place + row.why for row in offer.rows), *(name for name in offer.fetched)])
    assert not re.search(r"://[^/@\s]+:[^/@\s*]+@", told), "An address with a password is told. Leave it out."
