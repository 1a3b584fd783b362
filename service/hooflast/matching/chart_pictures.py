"""Chart pictures: the size chart of a boot model drawn with what is doubtful in it. Words from `texts`."""

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from typing import Final

from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import Doubt
from hooflast.catalog.values import BootModel, Range, Size, SizeCode
from hooflast.draw.chart import chart_picture as draw_chart
from hooflast.draw.chart_values import ChartKey, ChartPicture, DrawnPatch
from hooflast.draw.values import Identity, Tick
from hooflast.errors import Fact
from hooflast.fit.hoof import Axis
from hooflast.matching.pictures import TICKS
from hooflast.texts import Texts
from hooflast.units import read_length

SHARING: Final = frozenset({DoubtCode.SIZES_OVERLAP, DoubtCode.SIZE_SWALLOWED})
SEEN_IN_A_PICTURE: Final = SHARING | {
    DoubtCode.GAP_BETWEEN_SIZES,
    DoubtCode.RANGE_NARROW,
    DoubtCode.RANGE_WIDE,
    DoubtCode.SIZE_MOVED,
}
"""Doubts that a picture of the chart shows."""


def chart_picture(boot: BootModel, doubts: Iterable[Doubt], *, texts: Texts, prefix: str) -> str:
    """The chart of a boot model as SVG, with the doubts about it."""
    doubts = [doubt for doubt in doubts if doubt.code in SEEN_IN_A_PICTURE]
    sizes = {size.code: size for size in boot.sizes}
    facts: dict[str, Fact] = {"name": boot.name, "count": len(boot.sizes)}
    said = [texts.say(f"doubt.{doubt.code}", doubt.facts) for doubt in doubts]
    picture = ChartPicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.chart.title", facts),
            desc=" ".join([texts.say("picture.chart.about", facts), *said]),
            language=texts.language,
        ),
        sizes=boot.sizes,
        doubtful=frozenset(code for doubt in doubts for code in _codes(doubt) if code in sizes),
        shared=tuple(_shared(*_two(doubt, sizes)) for doubt in doubts if doubt.code in SHARING),
        gaps=tuple(_between(sizes[one], sizes[other], axes=axes) for (one, other), axes in _gaps(doubts).items()),
        ticks=tuple(
            Tick(at_mm=read_length(at, unit=texts.unit).mm, label=texts.say("picture.tick", {"at": at}))
            for at in TICKS[texts.unit]
        ),
        width_label=texts.say("picture.sizes.width", {"unit": texts.unit.value}),
        length_label=texts.say("picture.sizes.length", {"unit": texts.unit.value}),
        key=ChartKey(
            size=texts.say("picture.key.chart-size"),
            doubtful=texts.say("picture.key.doubtful"),
            shared=texts.say("picture.key.shared"),
            gap=texts.say("picture.key.between"),
        ),
        caption=texts.say("picture.chart.caption", facts),
    )
    return draw_chart(picture)


def _codes(doubt: Doubt) -> tuple[SizeCode, ...]:
    return tuple(SizeCode(str(doubt.facts[name])) for name in ("size", "other_size") if name in doubt.facts)


def _two(doubt: Doubt, sizes: dict[SizeCode, Size]) -> tuple[Size, Size]:
    one, other = _codes(doubt)
    return sizes[one], sizes[other]


def _shared(one: Size, other: Size) -> DrawnPatch:
    """What two sizes share."""
    return DrawnPatch(width=_common(one.width, other.width), length=_common(one.length, other.length))


def _gaps(doubts: Iterable[Doubt]) -> dict[tuple[SizeCode, ...], set[Axis]]:
    """Between which sizes there are gaps, and on which axes."""
    found: dict[tuple[SizeCode, ...], set[Axis]] = {}
    for doubt in doubts:
        if doubt.code is DoubtCode.GAP_BETWEEN_SIZES:
            found.setdefault(_codes(doubt), set()).add(Axis(str(doubt.facts["axis"])))
    return found


def _between(smaller: Size, larger: Size, *, axes: AbstractSet[Axis]) -> DrawnPatch:
    """What lies between two sizes on some axes; on another, from where the first begins to where the last ends."""
    width, length = (
        (_gap if axis in axes else _around)(one, other)
        for axis, one, other in (
            (Axis.WIDTH, smaller.width, larger.width),
            (Axis.LENGTH, smaller.length, larger.length),
        )
    )
    return DrawnPatch(width=width, length=length)


def _gap(one: Range | None, other: Range | None) -> Range | None:
    if one is None or other is None:
        return None
    return Range(low_mm=one.high_mm, high_mm=other.low_mm)


def _common(one: Range | None, other: Range | None) -> Range | None:
    if one is None or other is None:
        return one or other
    return Range(low_mm=max(one.low_mm, other.low_mm), high_mm=min(one.high_mm, other.high_mm))


def _around(one: Range | None, other: Range | None) -> Range | None:
    if one is None or other is None:
        return one or other
    return Range(low_mm=min(one.low_mm, other.low_mm), high_mm=max(one.high_mm, other.high_mm))
