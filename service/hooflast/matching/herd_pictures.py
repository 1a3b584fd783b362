"""Herd pictures: a coverage and a trial set's curve drawn. Every word comes from `texts` (keys `picture.…`)."""

from typing import Final

from hooflast.draw.coverage import coverage_picture as draw_coverage
from hooflast.draw.curve import curve_picture as draw_curve
from hooflast.draw.herd_values import (
    CountTick,
    CoverageKey,
    CoveragePicture,
    CurveKey,
    CurvePicture,
    DrawnGap,
    DrawnShare,
    ShareTick,
)
from hooflast.draw.values import Identity, Tick
from hooflast.errors import Fact, NotFound
from hooflast.matching.coverage_answer import CoverageAnswer
from hooflast.matching.gap_telling import gap_text, plane_facts
from hooflast.matching.pictures import TICKS
from hooflast.matching.trial_set_answer import TrialSetAnswer
from hooflast.texts import Texts
from hooflast.units import read_length

SHARES: Final = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
GAPS_TOLD: Final = 3
"""Gaps that a picture's description tells one by one."""


def coverage_picture(answer: CoverageAnswer, *, texts: Texts, prefix: str = "coverage") -> str:
    """The plane with the largest part of the herd, as SVG. Raises NotFound if the herd has no hooves left."""
    if not answer.planes:
        raise NotFound(resource="plane", name="herd")
    texts = texts.in_unit(answer.question.herd.unit)
    plane = answer.planes[0]
    facts = plane_facts(plane, texts=texts)
    told = [texts.say("coverage.plane", facts), *(gap_text(gap, texts=texts) for gap in plane.gaps[:GAPS_TOLD])]
    if not plane.gaps:
        told.append(texts.say("picture.coverage.no-gaps"))
    picture = CoveragePicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.coverage.title", facts),
            desc=" ".join(told),
            language=texts.language,
        ),
        covered=plane.covered,
        gaps=tuple(
            DrawnGap(label=str(gap.number), width_mm=gap.width_mm, length_mm=gap.length_mm) for gap in plane.gaps
        ),
        hooves=plane.hooves,
        ticks=tuple(
            Tick(at_mm=read_length(at, unit=texts.unit).mm, label=texts.say("picture.tick", {"at": at}))
            for at in TICKS[texts.unit]
        ),
        width_label=texts.say("picture.sizes.width", {"unit": texts.unit.value}),
        length_label=texts.say("picture.sizes.length", {"unit": texts.unit.value}),
        key=CoverageKey(
            covered=texts.say("picture.key.covered"),
            gap=texts.say("picture.key.gap"),
            half=texts.say("picture.key.half-of-hooves"),
            nearly_all=texts.say("picture.key.nearly-all-hooves"),
            hoof=texts.say("picture.key.measured-hoof") if len(plane.hooves) else "",
        ),
        caption=texts.say("picture.coverage.caption", facts),
    )
    return draw_coverage(picture)


def curve_picture(answer: TrialSetAnswer, *, texts: Texts, prefix: str = "curve") -> str:
    """The share served against the number of sizes, as SVG."""
    count = len(answer.carried)
    facts: dict[str, Fact] = {
        "count": count,
        "set_chance": answer.share,
        "wished_chance": answer.question.share,
        "attainable_chance": answer.attainable,
    }
    counting = answer.question.counting.value
    on_curve = any(point.count == count for point in answer.curve)
    picture = CurvePicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.curve.title"),
            desc=" ".join([texts.say("picture.curve.about", facts), *_steps(answer, texts=texts)]),
            language=texts.language,
        ),
        points=tuple(
            DrawnShare(
                count=point.count,
                share=min(point.share, 1.0),
                bound=min(max(point.bound, point.share), 1.0),
                is_exact=point.is_exact,
            )
            for point in answer.curve
        ),
        wished=answer.question.share,
        attainable=answer.attainable,
        chosen=count if on_curve else None,
        shares=tuple(
            ShareTick(at=at, label=texts.say("picture.curve.tick", {"at_percent": round(at * 100)})) for at in SHARES
        ),
        counts=tuple(
            CountTick(at=point.count, label=texts.say("picture.tick", {"at": point.count})) for point in answer.curve
        ),
        share_label=texts.say(f"picture.curve.share-of-{counting}"),
        count_label=texts.say("picture.curve.count"),
        key=CurveKey(
            exact=texts.say("picture.key.exact"),
            found=texts.say("picture.key.found"),
            bound=texts.say("picture.key.bound"),
            wished=texts.say("picture.key.wished"),
            attainable=texts.say("picture.key.attainable"),
            chosen=texts.say("picture.key.chosen-set"),
        ),
        caption=texts.say("picture.curve.caption", facts),
    )
    return draw_curve(picture)


def _steps(answer: TrialSetAnswer, *, texts: Texts) -> list[str]:
    """A few points of the curve in words: where it begins, doubles and ends."""
    counts = [1, 2, 4, 8, 16, 32]
    points = [point for point in answer.curve if point.count in counts or point is answer.curve[-1]]
    return [texts.say("picture.curve.point", {"count": point.count, "set_chance": point.share}) for point in points]
