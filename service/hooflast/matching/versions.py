"""Versions: what an answer depends on besides its question, for an answer that is given here and now."""

from typing import Final

from hooflast.fit import ENGINE
from hooflast.matching.answer import Versions
from hooflast.matching.shelf import Shelf

UNCALIBRATED: Final = "none"
"""The calibration of answers that no outcome has calibrated."""


def versions_of(shelf: Shelf, *, language: str) -> Versions:
    """The versions of an answer from one catalog release, in one language."""
    return Versions(
        catalog_release=shelf.release.id,
        catalog_edition=shelf.release.edition,
        engine=ENGINE,
        calibration=UNCALIBRATED,
        assortment=None if shelf.sold is None else shelf.sold.head.label,
        assortment_as_of=None if shelf.sold is None else shelf.sold.head.as_of,
        language=language,
    )
