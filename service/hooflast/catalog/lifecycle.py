"""Lifecycle: what becomes of a catalog release, step by step, and which steps its status allows.

    stage ──► staged ──check──► checked ──publish──► published ──withdraw──► withdrawn ──purge──► its content is gone
                                   ▲ │                  ▲ │                      │
                                   └─┘ check            └─┘ roll back            └──stage──► staged

One that is staged or checked can be withdrawn as well. Publishing makes a catalog release the active one; rolling
back does the same with one that is published already.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Final

from hooflast.catalog.errors import FourEyesNeeded, StepNotAllowed
from hooflast.catalog.values import ReleaseId


class ReleaseStatus(StrEnum):
    """How far a catalog release has come."""

    STAGED = "staged"
    CHECKED = "checked"
    PUBLISHED = "published"
    WITHDRAWN = "withdrawn"


class ReleaseStep(StrEnum):
    """What is done with a catalog release."""

    STAGE = "stage"
    CHECK = "check"
    PUBLISH = "publish"
    ROLL_BACK = "roll_back"
    WITHDRAW = "withdraw"
    PURGE = "purge"


class Eyes(StrEnum):
    """How many people a publication takes: with four eyes, whoever staged may not publish."""

    TWO = "two"
    FOUR = "four"


class WhenActive(StrEnum):
    """What withdrawing the active catalog release comes to where none takes its place."""

    REFUSE = "refuse"
    SERVE_NONE = "serve_none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Who takes a step, when, and what they say to it."""

    by: str
    at: datetime
    note: str = ""

    def __post_init__(self) -> None:
        if not self.by.strip():
            raise ValueError("a step is taken by somebody")
        if self.at.utcoffset() is None:
            raise ValueError(f"at has no time zone: {self.at.isoformat()}")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTaken:
    """One step in the life of a catalog release."""

    step: ReleaseStep
    signature: Signature


@dataclass(frozen=True, slots=True, kw_only=True)
class Holds:
    """How much a catalog release holds."""

    makers: int
    boots: int
    sizes: int
    accessories: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRelease:
    """What is known of a catalog release that is kept, without its content.

    `note` says what is new in it. `digest` is the SHA-256 of its whole written form, provenance included, which its
    id leaves out; `written_bytes` is that form's length. `steps` are all that were taken, in their order.
    """

    id: ReleaseId
    edition: str
    released_on: date
    note: str
    status: ReleaseStatus
    is_active: bool
    is_gone: bool
    digest: str
    written_bytes: int
    holds: Holds
    steps: tuple[StepTaken, ...]

    @property
    def author(self) -> str:
        """Who staged it, the last time it was."""
        return _last(self.steps, step=ReleaseStep.STAGE).signature.by


@dataclass(frozen=True, slots=True, kw_only=True)
class Active:
    """The catalog release that is served where none is pinned, if there is one.

    `revision` only rises: with every change of what can be served.
    """

    release: ReleaseId | None
    revision: int


_S: Final = ReleaseStatus
_LEADS: Final[Mapping[ReleaseStep, tuple[frozenset[ReleaseStatus], ReleaseStatus]]] = {
    ReleaseStep.STAGE: (frozenset({_S.WITHDRAWN}), _S.STAGED),
    ReleaseStep.CHECK: (frozenset({_S.STAGED, _S.CHECKED}), _S.CHECKED),
    ReleaseStep.PUBLISH: (frozenset({_S.CHECKED}), _S.PUBLISHED),
    ReleaseStep.ROLL_BACK: (frozenset({_S.PUBLISHED}), _S.PUBLISHED),
    ReleaseStep.WITHDRAW: (frozenset({_S.STAGED, _S.CHECKED, _S.PUBLISHED}), _S.WITHDRAWN),
    ReleaseStep.PURGE: (frozenset({_S.WITHDRAWN}), _S.WITHDRAWN),
}
"""For each step, from which statuses it may be taken, and to which it leads."""


def status_after(step: ReleaseStep, *, status: ReleaseStatus, release: ReleaseId) -> ReleaseStatus:
    """The status that a step leads to. Raises StepNotAllowed if it cannot be taken from `status`."""
    allowed, leads_to = _LEADS[step]
    if status not in allowed:
        needed = ",".join(one.value for one in ReleaseStatus if one in allowed)
        raise StepNotAllowed(release=release, step=step.value, status=status.value, needed_status_choices=needed)
    return leads_to


def require_eyes(eyes: Eyes, *, release: ReleaseId, staged_by: str, published_by: str) -> None:
    """Raises FourEyesNeeded if one person would stage and publish where two are asked for."""
    if eyes is Eyes.FOUR and _one_name(staged_by) == _one_name(published_by):
        raise FourEyesNeeded(release=release, by=published_by)


def _one_name(by: str) -> str:
    """A name however it is spelled."""
    return " ".join(by.split()).casefold()


def _last(steps: tuple[StepTaken, ...], *, step: ReleaseStep) -> StepTaken:
    return next(taken for taken in reversed(steps) if taken.step is step)
