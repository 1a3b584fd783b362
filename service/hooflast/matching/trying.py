"""Trying: which sizes to try, in which order, and the troubles to watch for."""

from typing import Final

from hooflast.catalog.values import SizeCode
from hooflast.fit.hoof import Axis
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import SizeFit
from hooflast.matching.question import TryFrom
from hooflast.matching.troubleshooting import Trouble

WORTH_TRYING: Final = 0.02
"""A neighbour less likely to fit than this is not worth a try [C]."""

WORTH_WATCHING: Final = 0.15
"""Chance of too tight or too loose from which the troubles it brings are named [C]."""

BRINGS: Final = (
    (Axis.WIDTH, Verdict.TOO_LOOSE, (Trouble.TURNS, Trouble.COMES_OFF)),
    (Axis.LENGTH, Verdict.TOO_LOOSE, (Trouble.COMES_OFF, Trouble.RUBS_AT_THE_HEEL_BULB)),
    (Axis.WIDTH, Verdict.TOO_TIGHT, (Trouble.WILL_NOT_GO_ON, Trouble.RUBS_AT_THE_CORONARY_BAND)),
    (Axis.LENGTH, Verdict.TOO_TIGHT, (Trouble.HEEL_NOT_SEATED, Trouble.RUBS_AT_THE_HEEL_BULB)),
)
"""What a boot too large or too small on one axis leads to [CP]."""


def try_order(
    best: SizeFit, *, smaller: SizeFit | None, larger: SizeFit | None, try_from: TryFrom
) -> tuple[SizeCode, ...]:
    """The sizes worth a try: from one above the best and down, or the best and then its likelier neighbour [CP]."""
    if try_from is TryFrom.ONE_ABOVE:
        order = [larger, best, smaller]
    else:
        neighbours = [near for near in (larger, smaller) if near is not None]
        order = [best, *sorted(neighbours, key=lambda near: -near.fit_chance)]
    return tuple(
        size.size.code for size in order if size is not None and (size is best or size.fit_chance >= WORTH_TRYING)
    )


def watch_for(best: SizeFit) -> tuple[Trouble, ...]:
    """The troubles that the best size may bring, by how it may sit; each once."""
    found = [
        trouble
        for axis, verdict, troubles in BRINGS
        if best.verdict_chances.get(axis, {}).get(verdict, 0.0) >= WORTH_WATCHING
        for trouble in troubles
    ]
    return tuple(dict.fromkeys(found))
