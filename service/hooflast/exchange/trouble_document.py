"""Trouble document: the guide to a trouble with a boot, written down with its sentences."""

from typing import Annotated

import msgspec
from msgspec import Meta

from hooflast.fit.remark import Severity
from hooflast.matching.cautions import COMMON_PRACTICE
from hooflast.matching.troubleshooting import Cause, Trouble, TroubleGuide
from hooflast.texts import Texts


class CauseDocument(msgspec.Struct, frozen=True, kw_only=True):
    """What may be behind a trouble."""

    cause: Cause
    text: Annotated[str, Meta(description="What it is.")]
    look_at: Annotated[str, Meta(description="What to look at.")]
    change: Annotated[str, Meta(description="What to change.")]


class TroubleDocument(msgspec.Struct, frozen=True, kw_only=True):
    """A trouble with a boot, and its causes in the order to look."""

    trouble: Trouble
    text: Annotated[str, Meta(description="What is seen.")]
    severity: Severity
    causes: Annotated[list[CauseDocument], Meta(min_length=1, description="The likeliest first.")]
    source: Annotated[str, Meta(description="What this rests on.")]


def trouble_document(guide: TroubleGuide, *, texts: Texts) -> TroubleDocument:
    """The guide as a document."""
    return TroubleDocument(
        trouble=guide.trouble,
        text=texts.say(f"trouble.{guide.trouble}"),
        severity=guide.severity,
        causes=[
            CauseDocument(
                cause=cause,
                text=texts.say(f"cause.{cause}"),
                look_at=texts.say(f"cause.{cause}.look"),
                change=texts.say(f"cause.{cause}.change"),
            )
            for cause in guide.causes
        ],
        source=texts.source(COMMON_PRACTICE),
    )
