"""Availability: what is in sale on a day, and where an old size leads today."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final, Protocol

from hooflast.catalog.values import BootId, BootModel, CatalogRelease, Size, SizeCode

MOST_STEPS: Final = 100
"""How many boot models, or sizes of them, are passed at most on the way to the present [C]."""


class Dated(Protocol):
    """What is in sale from a day on, up to another."""

    @property
    def available_from(self) -> date | None:
        """The first day it is in sale; None: it always was."""

    @property
    def discontinued_on(self) -> date | None:
        """The first day it is no longer in sale; None: it still is."""


def is_in_sale(thing: Dated, *, day: date) -> bool:
    """Whether it is in sale on a day."""
    return not is_to_come(thing, day=day) and not is_discontinued(thing, day=day)


def is_to_come(thing: Dated, *, day: date) -> bool:
    """Whether its first day in sale is still to come."""
    return thing.available_from is not None and day < thing.available_from


def is_discontinued(thing: Dated, *, day: date) -> bool:
    """Whether its days in sale are over."""
    return thing.discontinued_on is not None and thing.discontinued_on <= day


class PresentStatus(StrEnum):
    """What following an old size to the present came to."""

    IN_SALE = "in_sale"
    REPLACED = "replaced"
    MEASURE_AGAIN = "measure_again"
    TO_COME = "to_come"
    ENDED = "ended"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A boot model that was passed on the way, and its size where one is named."""

    boot: BootModel
    size: Size | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Present:
    """Where a boot model, or one of its sizes, leads on a day. `steps` begin with what was asked for.

    The last step is what is in sale now (`in_sale`, `replaced`), or what will be (`to_come`); a boot model that took
    another's place without naming a size for this one (`measure_again`); or what ended without a successor (`ended`).
    """

    status: PresentStatus
    steps: tuple[Step, ...]

    @property
    def last(self) -> Step:
        """Where it leads."""
        return self.steps[-1]


def find_present(release: CatalogRelease, *, boot: BootModel, size: Size | None, day: date) -> Present:
    """Follow the successors of a size, or of a whole boot model, to what is in sale on `day`.

    A size without a successor leads to the successor of its boot model, and there to no size: codes of two boot
    models mean nothing to each other. What leads on for longer than MOST_STEPS is not followed further.
    """
    steps = [Step(boot=boot, size=size)]
    passed = {(boot.id, size.code if size else None)}
    while not _stands(steps[-1], day=day):
        following = _following(steps[-1], release=release)
        if following is None or len(steps) == MOST_STEPS:
            return Present(status=PresentStatus.ENDED, steps=tuple(steps))
        place = (following.boot.id, following.size.code if following.size else None)
        if place in passed:
            return Present(status=PresentStatus.ENDED, steps=tuple(steps))
        passed.add(place)
        steps.append(following)
    return Present(status=_status(steps, day=day), steps=tuple(steps))


def size_called(boot: BootModel, code: str) -> Size | None:
    """The size of a boot model with this code, if it has one."""
    return next((size for size in boot.sizes if size.code == SizeCode(code)), None)


def _stands(step: Step, *, day: date) -> bool:
    """Whether nothing leads on from here: it is in sale, or will be."""
    return not any(is_discontinued(one, day=day) for one in (step.boot, step.size) if one is not None)


def _following(step: Step, *, release: CatalogRelease) -> Step | None:
    if step.size is not None and step.size.successor is not None:
        named = step.size.successor
        boot = release.boots.get(named.boot)
        size = None if boot is None else size_called(boot, named.size)
        return None if boot is None or size is None else Step(boot=boot, size=size)
    successor: BootId | None = step.boot.successor
    boot = None if successor is None else release.boots.get(successor)
    return None if boot is None else Step(boot=boot, size=None)


def _status(steps: list[Step], *, day: date) -> PresentStatus:
    last = steps[-1]
    if any(is_to_come(one, day=day) for one in (last.boot, last.size) if one is not None):
        return PresentStatus.TO_COME
    if len(steps) == 1:
        return PresentStatus.IN_SALE
    return PresentStatus.MEASURE_AGAIN if last.size is None and steps[0].size is not None else PresentStatus.REPLACED
