"""Errors: what the life of a catalog release refuses.

HooflastError
├── StepNotAllowed (ValueError)       its status does not allow this step
├── FourEyesNeeded (ValueError)       whoever staged it may not publish it
├── ReleaseStillActive (ValueError)   the active one can only be withdrawn with another in its place, or on purpose
├── NoEarlierRelease (LookupError)    there is nothing to roll back to
└── ReleaseGone (LookupError)         it was withdrawn, and is served no more
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


@dataclass(kw_only=True, eq=False)
class StepNotAllowed(HooflastError, ValueError):
    """A catalog release that is `status` cannot take `step`; it could from those named, parted by commas."""

    code: ClassVar[str] = "step-not-allowed"
    release: str
    step: str
    status: str
    needed_status_choices: str

    def __str__(self) -> str:
        needed = self.needed_status_choices
        return f"catalog release {self.release} is {self.status}; for {self.step} it must be {needed}"


@dataclass(kw_only=True, eq=False)
class FourEyesNeeded(HooflastError, ValueError):
    """`by` staged this catalog release, so somebody else must publish it."""

    code: ClassVar[str] = "four-eyes-needed"
    release: str
    by: str

    def __str__(self) -> str:
        return f"{self.by} staged catalog release {self.release}, so somebody else must publish it"


@dataclass(kw_only=True, eq=False)
class ReleaseStillActive(HooflastError, ValueError):
    """This catalog release is served to everybody who pins none."""

    code: ClassVar[str] = "release-still-active"
    release: str

    def __str__(self) -> str:
        return (
            f"catalog release {self.release} is the active one: name another to take its place, roll back first, "
            "or say that none shall be served"
        )


@dataclass(kw_only=True, eq=False)
class NoEarlierRelease(HooflastError, LookupError):
    """No catalog release was published before the active one, or all of them are withdrawn."""

    code: ClassVar[str] = "no-earlier-release"

    def __str__(self) -> str:
        return "no catalog release that was published earlier can be served again"


@dataclass(kw_only=True, eq=False)
class ReleaseGone(HooflastError, LookupError):
    """This catalog release was withdrawn, and its content may be purged; what is known of its life is kept."""

    code: ClassVar[str] = "release-gone"
    release: str

    def __str__(self) -> str:
        return f"catalog release {self.release} was withdrawn and is no longer here"
