"""Suite: what Hooflast relies on in a catalog plugin. Each test says what to do where it does not hold.

What a test needs and another test is about is asked once, and told of there: the others are skipped.
"""

import re
from warnings import warn

import pytest

from hooflast.catalog.loading import rows_behind
from hooflast.catalog.offers import Offer
from hooflast.catalog.plugin import INTERFACE_VERSION, Fate
from hooflast.catalog.reading import Records
from hooflast.catalog.validation import fault_point
from hooflast.errors import Fault, PluginFailed
from hooflast.texts import load_texts
from hooflast_author_kit.looking import Looked
from hooflast_author_kit.subject import Subject

UNKNOWN = "a_setting_that_nobody_has"


def require(words: str, *, holds: object) -> None:
    """Fail with these words, and no others, where something does not hold."""
    if not holds:
        pytest.fail(words, pytrace=False)


def test_it_can_be_loaded(hooflast_plugin: Subject) -> None:
    require(hooflast_plugin.looked.fault, holds=not hooflast_plugin.looked.fault)


def test_it_says_what_it_is(looked: Looked) -> None:
    require(
        f"The name {looked.name!r} is not lower-case letters, digits and hyphens, beginning with a letter.",
        holds=_has_good_name(looked),
    )


def test_it_knows_this_version_of_the_interface(looked: Looked) -> None:
    first, last = looked.interface
    require(
        f"It was written for interface versions {first} to {last}; this is {INTERFACE_VERSION}. Look at what changed, "
        f"then widen `interface`.",
        holds=_knows_interface(looked),
    )


def test_its_settings_are_described(looked: Looked) -> None:
    require(
        f"Say what these settings are, in their Field's description: {', '.join(looked.silent)}.",
        holds=not looked.silent,
    )


def test_its_settings_refuse_what_they_do_not_know(looked: Looked) -> None:
    require(
        "A setting with a slip in its name goes unnoticed. Give the model `model_config = ConfigDict(extra='forbid')`.",
        holds=looked.refuses_unknown,
    )


def test_it_can_be_asked_and_offers_something(hooflast_plugin: Subject, looked: Looked) -> None:
    if not (_has_good_name(looked) and _knows_interface(looked)):
        pytest.skip("Hooflast asks no plugin of such a name or interface.")
    offered = hooflast_plugin.offered
    if isinstance(offered, PluginFailed):
        pytest.fail(f"The plugin could not be asked: {offered.reason}", pytrace=False)
    require(
        f"It waits for the settings {', '.join(offered.waits_for)}. Give them in a YAML file: --settings FILE with "
        f"`hooflast-author-kit check`, --hooflast-settings FILE with pytest.",
        holds=not offered.waits_for,
    )
    require("It offers no edition. `discover` must find at least one source.", holds=offered.editions)


@pytest.mark.usefixtures("offer")
def test_it_refuses_settings_it_does_not_have(hooflast_plugin: Subject) -> None:
    if not hooflast_plugin.looked.refuses_unknown:
        pytest.skip("Its settings are said to take anything.")
    told = ""
    try:
        hooflast_plugin.offer(settings={**(hooflast_plugin.settings or {}), UNKNOWN: 1})
    except PluginFailed as failure:
        told = failure.reason
    require(
        f"Given the setting {UNKNOWN!r}, it does not refuse it by its name. It says: {told or 'nothing'}.",
        holds=UNKNOWN in told,
    )


def test_every_edition_is_without_a_fault(hooflast_plugin: Subject, offer: Offer) -> None:
    told = []
    for edition, read in hooflast_plugin.read:
        told += [f"{edition.released_on}: {finding}" for finding in edition.findings]
        if not isinstance(read, Records):
            faults = (*read, *rows_behind(read, rows=offer.rows))
            told += [f"{edition.released_on}: {_said(fault)}" for fault in faults]
    require("These faults keep an edition out:\n" + "\n".join(told), holds=not told)


def test_every_row_is_read(hooflast_plugin: Subject, offer: Offer) -> None:
    refused = [f"{row.place}: {row.why}".rstrip(": ") for row in offer.rows if row.fate is Fate.REFUSED]
    if not refused:
        return
    kept_out = [
        str(edition.released_on)
        for edition, read in hooflast_plugin.read
        if edition.findings or not isinstance(read, Records)
    ]
    became = (
        f"Rows are refused. The edition of {', '.join(kept_out)} is kept out whole, by the faults told above"
        if kept_out
        else "Rows are refused, and left out of an edition that is published"
    )
    warn(f"{became}:\n" + "\n".join(refused), stacklevel=1)


@pytest.mark.usefixtures("offer")
def test_it_offers_something_that_can_be_bought(hooflast_plugin: Subject) -> None:
    sound = [read for _, read in hooflast_plugin.read if isinstance(read, Records)]
    if not sound:
        pytest.skip("No edition is without a fault.")
    boots = [boot for read in sound for boot in read.boots.values()]
    require("No edition has a boot model.", holds=boots)
    require("A boot model has no sizes.", holds=all(boot.sizes for boot in boots))


def test_it_offers_the_same_when_nothing_changed(hooflast_plugin: Subject, offer: Offer) -> None:
    try:
        again = hooflast_plugin.offer(held=offer.fetched)
    except PluginFailed as failure:
        again = None
        told = f"Asked again, it cannot be: {failure.reason}"
    else:
        told = (
            "Asked again, it offers something else. Take days from the source, not from the clock, keep the order of "
            "what you hand over, and give back what is `held` where the source says that it has not changed."
        )
    require(told, holds=again is not None and again.editions == offer.editions)


def test_sources_are_called_so_that_they_can_be_found_again(offer: Offer) -> None:
    names = [file.source for edition in offer.editions for file in edition.files]
    vague = [name for name in names if not name.strip() or name.startswith(("/tmp", "C:\\"))]  # noqa: S108
    require(f"Name sources by what they are, not by where they lie for the moment: {vague}.", holds=not vague)


def test_no_secret_stands_in_what_it_hands_over(looked: Looked, offer: Offer) -> None:
    told = "\n".join(_handed_over(offer))
    require(
        "An address with a password is handed over. Leave the password out.",
        holds=not re.search(r"://[^/@\s]+:[^/@\s*]+@", told),
    )
    require(
        "What a secret setting holds is handed over, in a source, a place, a row, a finding or a catalog file. Leave "
        "it out: all of that is shown.",
        holds=not any(secret in told for secret in looked.secrets),
    )


def _has_good_name(looked: Looked) -> bool:
    return re.fullmatch(r"[a-z][a-z0-9-]{1,79}", looked.name) is not None


def _knows_interface(looked: Looked) -> bool:
    first, last = looked.interface
    return first <= INTERFACE_VERSION <= last


def _said(fault: Fault) -> str:
    point = fault_point(fault, plugin="own")
    texts = load_texts("en")
    said = (point.source, point.place, texts.say(f"fault.{fault.code}", fault.facts))
    accepted = texts.say(f"fault.{fault.code}.accepted", fault.facts)
    return " ".join(part for part in (*said, accepted, f"({fault.code})") if part)


def _handed_over(offer: Offer) -> list[str]:
    """Every text that others may see."""
    files = [file for edition in offer.editions for file in edition.files]
    return [
        *offer.fetched,
        *(row.place + row.why for row in offer.rows),
        *(edition.note for edition in offer.editions),
        *(finding for edition in offer.editions for finding in edition.findings),
        *(file.source for file in files),
        *(place for file in files for place in file.places.values()),
        *(file.content.decode("utf-8", "replace") for file in files),
    ]
