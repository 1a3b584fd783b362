"""Cycle picture: an answer about the trim cycle drawn. The numbers are the answer's, every word is from `texts`."""

from collections.abc import Iterator
from math import floor
from typing import Final

import numpy as np

from hooflast import draw
from hooflast.catalog.values import BootModel, Range, Size
from hooflast.draw import CycleKey, CyclePanel, CyclePicture, CyclePoint, DrawnCycle, Identity, Tick, WeekTick
from hooflast.errors import Fact
from hooflast.fit.cycle import Cycle, hoof_after
from hooflast.fit.hoof import Axis
from hooflast.fit.sizes import AXES, GIVE, TIGHT_LENGTH_GIVE_MM
from hooflast.matching.pictures import TICKS
from hooflast.matching.trim_cycle import estimated
from hooflast.matching.trim_cycle_answer import CycleAnswer, HoofInCycle
from hooflast.texts import Texts
from hooflast.units import read_length

CYCLES: Final = 2
POINTS: Final = 9
"""Points of each cycle; the hoof's mean is a straight line, its doubt a smooth one."""

TURNING: Final = frozenset(
    {
        "turns-tight",
        "turns-loose",
        "may-turn-tight",
        "may-turn-loose",
        "tight-from-the-trim",
        "loose-from-the-trim",
    }
)
"""The advice that belongs to one axis, told below its panel."""


def cycle_picture(answer: CycleAnswer, *, texts: Texts, prefix: str = "cycle") -> str:
    """Every hoof's width and length over two cycles, against the size looked at, as SVG."""
    horse = answer.question.horse
    texts = texts.in_unit(horse.unit)
    weeks = answer.question.cycle_weeks
    facts: dict[str, Fact] = {"cycle_weeks": weeks}
    if horse.horse_name:
        facts["horse_name"] = horse.horse_name
    told = [f"{_label(hoof, texts=texts)}: {_found(hoof, texts=texts)}" for hoof in answer.hooves]
    picture = CyclePicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.cycle.title", facts),
            desc=" ".join([texts.say("picture.cycle.about"), *told]),
            language=texts.language,
        ),
        hooves=tuple(_drawn(hoof, texts=texts) for hoof in answer.hooves),
        ticks=tuple(_ticks(texts)),
        weeks=tuple(
            WeekTick(at_week=float(week), label=texts.say("picture.tick", {"at": week}))
            for week in range(floor(CYCLES * weeks) + 1)
        ),
        weeks_label=texts.say("picture.cycle.weeks"),
        key=CycleKey(
            mean=texts.say("picture.cycle.key.mean"),
            likely=texts.say("picture.cycle.key.likely"),
            nearly_sure=texts.say("picture.cycle.key.nearly-sure"),
            span=texts.say("picture.cycle.key.span"),
            give=texts.say("picture.cycle.key.give"),
            trim=texts.say("picture.cycle.key.trim"),
        ),
        caption=texts.say("picture.cycle.caption"),
    )
    return draw.cycle_picture(picture)


def _ticks(texts: Texts) -> Iterator[Tick]:
    for at in TICKS[texts.unit]:
        yield Tick(at_mm=read_length(at, unit=texts.unit).mm, label=texts.say("picture.tick", {"at": at}))


def _drawn(hoof: HoofInCycle, *, texts: Texts) -> DrawnCycle:
    panels: tuple[CyclePanel, ...] = ()
    if hoof.sizes and hoof.boot is not None:
        panels = tuple(_panel(hoof, hoof.boot, axis=axis, texts=texts) for axis in AXES)
    return DrawnCycle(label=_label(hoof, texts=texts), found=_found(hoof, texts=texts), panels=panels)


def _label(hoof: HoofInCycle, *, texts: Texts) -> str:
    return texts.say(f"limb.{hoof.reading.limb}")


def _found(hoof: HoofInCycle, *, texts: Texts) -> str:
    if not hoof.sizes or hoof.boot is None or hoof.maker is None:
        return texts.say("picture.cycle.none")
    facts: dict[str, Fact] = {
        "boot": hoof.boot.name,
        "maker": hoof.maker.name,
        "size": hoof.sizes[0].size.code,
        "holds_chance": hoof.sizes[0].holds_chance,
    }
    return texts.say("picture.cycle.found", facts)


def _panel(hoof: HoofInCycle, boot: BootModel, *, axis: Axis, texts: Texts) -> CyclePanel:
    span, accepted = _ranges(hoof.sizes[0].size, boot, axis=axis)
    said = [
        texts.say(f"cycle.{remark.code}", remark.facts)
        for remark in hoof.advice
        if remark.code in TURNING and remark.facts["axis"] == axis.value
    ]
    if span is None:
        said.append(texts.say("picture.missing", {"axis": axis.value}))
    name = texts.say("picture.cycle.axis", {"axis": axis.value, "unit": texts.unit.value})
    return CyclePanel(
        axis=axis,
        name=name,
        runs=tuple(_run(hoof.cycle, axis=AXES.index(axis), trims=trims) for trims in range(1, CYCLES + 1)),
        span=span,
        accepted=accepted,
        said=" ".join(said),
    )


def _run(cycle: Cycle, *, axis: int, trims: int) -> tuple[CyclePoint, ...]:
    """One dimension from a trim to the next, week 0 being the next trim from now."""
    points = []
    for week in np.linspace(0.0, cycle.weeks, POINTS):
        found = estimated(hoof_after(cycle, weeks=float(week), trims=trims), axis=axis)
        points.append(
            CyclePoint(
                week=float(week) + (trims - 1) * cycle.weeks,
                mean_mm=found.mean_mm,
                sd_mm=found.standard_uncertainty_mm,
            )
        )
    return tuple(points)


def _ranges(size: Size, boot: BootModel, *, axis: Axis) -> tuple[Range | None, Range | None]:
    """A size's range on an axis as its chart prints it, and the same with what the closure gives."""
    span = size.width if axis is Axis.WIDTH else size.length
    if span is None:
        return None, None
    give = GIVE[boot.closure]
    tight = give.tight_width_mm if axis is Axis.WIDTH else TIGHT_LENGTH_GIVE_MM
    return span, Range(low_mm=span.low_mm - give.loose_mm, high_mm=span.high_mm + tight)
