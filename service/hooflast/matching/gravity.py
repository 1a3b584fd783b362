"""Gravity: which of several cautions matters most."""

from collections.abc import Iterable
from typing import Final

from hooflast.fit.remark import Caution, Severity
from hooflast.matching.answer import HoofAnswer, MatchAnswer

GRAVITY: Final = {severity: weight for weight, severity in enumerate(Severity)}


def gravest(cautions: Iterable[Caution]) -> Severity | None:
    """The severity of the gravest caution; None if there is no caution."""
    return max((caution.severity for caution in cautions), key=GRAVITY.__getitem__, default=None)


def stops(answer: MatchAnswer) -> tuple[Caution, ...]:
    """Every caution of the horse that says stop."""
    return tuple(caution for caution in answer.cautions if caution.severity is Severity.STOP)


def about_hoof(hoof: HoofAnswer, answer: MatchAnswer) -> tuple[Caution, ...]:
    """Every caution that concerns a hoof and its first boot: its own, the boot's, the horse's that name it or stop."""
    limb = hoof.reading.limb.value
    named = [
        caution
        for caution in answer.cautions
        if caution.severity is Severity.STOP or limb in (caution.facts.get("limb"), caution.facts.get("other_limb"))
    ]
    first = hoof.boots[0].cautions if hoof.boots else ()
    return (*named, *hoof.cautions, *first)
