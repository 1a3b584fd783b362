"""Reasons: why a boot model is where it is, and what to be careful about with it."""

from typing import Final

from hooflast.catalog.values import BootModel, Sides, Size
from hooflast.fit.hoof import Axis
from hooflast.fit.remark import Caution, Fact, Remark, Severity
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import SizeFit
from hooflast.matching.cautions import CATALOG, COMMON_PRACTICE, CONVENTION
from hooflast.matching.choosing import standing_only
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion

DOUBTFUL: Final = 0.5
"""Fit chance below which the best size of a boot model is called doubtful [C]."""

AS_WELL: Final = 0.6
"""A neighbour with this share of the best size's fit chance may suit as well [C]."""

SITS: Final = {
    (Axis.WIDTH, Verdict.TOO_TIGHT): Remark(code="width-too-tight"),
    (Axis.WIDTH, Verdict.SNUG): Remark(code="width-snug"),
    (Axis.WIDTH, Verdict.EVEN): Remark(code="width-even"),
    (Axis.WIDTH, Verdict.ROOMY): Remark(code="width-roomy"),
    (Axis.WIDTH, Verdict.TOO_LOOSE): Remark(code="width-too-loose"),
    (Axis.LENGTH, Verdict.TOO_TIGHT): Remark(code="length-too-tight"),
    (Axis.LENGTH, Verdict.SNUG): Remark(code="length-snug"),
    (Axis.LENGTH, Verdict.EVEN): Remark(code="length-even"),
    (Axis.LENGTH, Verdict.ROOMY): Remark(code="length-roomy"),
    (Axis.LENGTH, Verdict.TOO_LOOSE): Remark(code="length-too-loose"),
}


def why(
    boot: BootModel, question: MatchQuestion, *, band: int, best: SizeFit, steps_apart: int | None
) -> tuple[Remark, ...]:
    """Why this boot model is where it is: closeness first, then what was asked for, in the order of the ranking."""
    found = [Remark(code="ties-for-closest") if band == 0 else Remark(code="behind-the-closest")]
    found += [SITS[axis, verdict] for axis, verdict in best.verdicts.items()]
    if steps_apart == 0:
        found.append(Remark(code="dimensions-agree"))
    if boot.closure in question.closures:
        found.append(Remark(code="closure-as-wished"))
    if question.uses:
        found.append(Remark(code="made-for-the-uses"))
    if question.needs:
        found.append(Remark(code="maker-states-needs"))
    if question.pad_mm:
        found.append(Remark(code="takes-the-pad", facts={"pad_mm": question.pad_mm, "most_mm": boot.max_pad_mm}))
    return tuple(found)


def boot_cautions(
    boot: BootModel,
    question: MatchQuestion,
    *,
    best: SizeFit,
    neighbours: tuple[SizeFit | None, SizeFit | None],
    by_width: Size | None,
    by_length: Size | None,
    steps_apart: int | None,
) -> tuple[Caution, ...]:
    """What to be careful about with this boot model on this hoof."""
    found = []
    if best.fit_chance < DOUBTFUL:
        found.append(doubtful(best, question))
    found += [
        Caution(code="neighbour-may-suit", severity=Severity.NOTE, source=CONVENTION, facts={"size": near.size.code})
        for near in neighbours
        if near is not None and near.fit_chance >= AS_WELL * best.fit_chance
    ]
    if by_width is None:
        found.append(Caution(code="no-width-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION))
    if by_length is None:
        found.append(Caution(code="no-length-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION))
    if by_width and by_length and steps_apart:
        if is_painful(question.needs):
            found.append(Caution(code="shapes-differ-ask", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE))
        else:
            found.append(_shapes_differ(by_width, by_length, steps_apart=steps_apart))
    if standing_only(boot):
        found.append(Caution(code="standing-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE))
    if boot.sides is Sides.LEFT_AND_RIGHT:
        found.append(Caution(code="left-and-right", severity=Severity.NOTE, source=CATALOG))
    return tuple(found)


def doubtful(best: SizeFit, question: MatchQuestion) -> Caution:
    """That even the best size is not likely to fit; on an acutely painful foot nobody is sent to try others."""
    facts: dict[str, Fact] = {"size": best.size.code, "fit_chance": best.fit_chance}
    if is_painful(question.needs):
        return Caution(code="fit-doubtful-ask", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
    return Caution(code="fit-doubtful", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)


def _shapes_differ(by_width: Size, by_length: Size, *, steps_apart: int) -> Caution:
    severity = Severity.NOTE if abs(steps_apart) == 1 else Severity.LOOK_AGAIN
    facts = {"width_size": by_width.code, "length_size": by_length.code}
    if steps_apart > 0:
        return Caution(code="hoof-wider-than-boot", severity=severity, source=COMMON_PRACTICE, facts=facts)
    return Caution(code="hoof-longer-than-boot", severity=severity, source=COMMON_PRACTICE, facts=facts)
