"""Wearing: how to put boots on, wear them in, and when to stop. Common practice, no source."""

from typing import Final

from hooflast.fit.remark import Remark
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion

PUTTING_ON: Final = (
    Remark(code="brush-the-sole"),
    Remark(code="hold-the-limb-low"),
    Remark(code="gaiter-one-finger"),
    Remark(code="odd-steps-at-first"),
)
WEARING_IN: Final = (
    Remark(code="first-time", facts={"from_minutes": 10, "to_minutes": 15}),
    Remark(code="little-by-little"),
    Remark(code="look-for-rubs"),
    Remark(code="boots-come-off"),
    Remark(code="look-at-the-parts"),
)
STANDING: Final = (
    Remark(code="brush-the-sole"),
    Remark(code="only-for-standing"),
    Remark(code="look-twice-a-day"),
)
STOPPING: Final = Remark(code="stop-when")


def wearing(question: MatchQuestion) -> tuple[Remark, ...]:
    """What to do with the boots once they are there. A painful foot gets no movement plan, a foal gets no boots."""
    if question.is_foal:
        return ()
    if is_painful(question.needs):
        return (*STANDING, STOPPING)
    return (*PUTTING_ON, *WEARING_IN, STOPPING)
