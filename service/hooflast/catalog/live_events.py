"""Live events: what the steps of catalog releases mean to those who are served: published, rolled back, withdrawn.

Staging, validating and purging are nobody's business but the publisher's, and so is withdrawing what was never
published.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Final

from hooflast.catalog.lifecycle import ReleaseStep
from hooflast.catalog.values import ReleaseId


class ReleaseEventKind(StrEnum):
    """What is told of a catalog release."""

    PUBLISHED = "catalog_release.published"
    ROLLED_BACK = "catalog_release.rolled_back"
    WITHDRAWN = "catalog_release.withdrawn"


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedStep:
    """One step with its number among all steps of all catalog releases."""

    number: int
    release: ReleaseId
    edition: str
    released_on: date
    step: ReleaseStep
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseEvent:
    """A step that clients are told of, with the catalog release that was active before it and the one after it."""

    kind: ReleaseEventKind
    taken: NumberedStep
    before: ReleaseId | None
    active: ReleaseId | None

    @property
    def id(self) -> str:
        """The same for the same step, whoever works it out, and another for every other one."""
        taken = self.taken
        told = f"{taken.number} {taken.release} {taken.step} {taken.at.timestamp():.6f}"
        return f"evt_{sha256(told.encode()).hexdigest()[:32]}"


_KINDS: Final = {
    ReleaseStep.PUBLISH: ReleaseEventKind.PUBLISHED,
    ReleaseStep.ROLL_BACK: ReleaseEventKind.ROLLED_BACK,
    ReleaseStep.WITHDRAW: ReleaseEventKind.WITHDRAWN,
}


def release_events(steps: Iterable[NumberedStep]) -> tuple[ReleaseEvent, ...]:
    """The events among all steps there are, given in their order."""
    found = []
    published: set[ReleaseId] = set()
    active: ReleaseId | None = None
    for taken in steps:
        kind, before, was_published = _KINDS.get(taken.step), active, taken.release in published
        if kind is ReleaseEventKind.WITHDRAWN:
            published.discard(taken.release)
            active = None if active == taken.release else active
        elif kind is not None:
            published.add(taken.release)
            active = taken.release
        if kind is not None and (was_published or kind is not ReleaseEventKind.WITHDRAWN):
            found.append(ReleaseEvent(kind=kind, taken=taken, before=before, active=active))
    return tuple(found)
