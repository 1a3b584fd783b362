"""Progress: how far long work on a catalog has come, told while it goes on.

Whoever listens may raise WorkStopped, which ends the work there.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum


class WorkStage(StrEnum):
    """What is being done."""

    ASKING = "asking"
    READING = "reading"
    COMPOSING = "composing"
    LOOKING = "looking"
    KEEPING = "keeping"


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """So many are done of so many; `about` names the plugin or the edition that is at hand."""

    stage: WorkStage
    about: str = ""
    done: int = 0
    of: int = 0


OnProgress = Callable[[Progress], None]


class WorkStopped(Exception):
    """The work was told to stop before its end; nothing is broken."""


def unheard(_: Progress) -> None:
    """Nobody listens."""
