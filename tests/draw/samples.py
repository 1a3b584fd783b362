"""Samples: the demo horse's hooves and sizes as pictures, strategies for any others, and the texts each hands in."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st

from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.draw import (
    ClearanceWords,
    CycleKey,
    CyclePanel,
    CyclePicture,
    CyclePoint,
    DrawnCaution,
    DrawnChance,
    DrawnCycle,
    DrawnHoof,
    FourHoovesPicture,
    HoofEntry,
    Identity,
    MissingAxis,
    SizesKey,
    SizesPicture,
    SoleKey,
    SolePicture,
    Tick,
    WeekTick,
    cycle_picture,
    four_hooves_picture,
    sizes_picture,
    sole_picture,
)
from hooflast.fit.hoof import Axis, Limb
from hooflast.fit.remark import Severity

Picture = SizesPicture | SolePicture | FourHoovesPicture | CyclePicture
Span = tuple[float, float] | None

bounded = settings(max_examples=25, deadline=None)

TICKS = tuple(Tick(at_mm=float(mm), label=f"{mm}") for mm in range(20, 300, 5))


def size(code: str, *, width: Span, length: Span) -> Size:
    return Size(code=SizeCode(code), width=_range(width), length=_range(length))


def _range(span: Span) -> Range | None:
    return None if span is None else Range(low_mm=span[0], high_mm=span[1])


MARLOWICK = tuple(
    size(code, width=(low, low + 4), length=(low + 2, low + 6))
    for code, low in zip(
        ("clover", "yarrow", "tansy", "bracken", "teasel", "foxglove", "mullein", "angelica"),
        range(103, 143, 5),
        strict=True,
    )
)
TEASEL = MARLOWICK[4]


def hoof(
    limb: Limb = Limb.LF,
    *,
    width: float = 124.0,
    length: float = 127.0,
    sd: tuple[float, float] = (2.4, 3.2),
    correlation: float = 0.3,
) -> DrawnHoof:
    return DrawnHoof(
        limb=limb,
        label=limb.value,
        width_mm=width,
        length_mm=length,
        width_sd_mm=sd[0],
        length_sd_mm=sd[1],
        correlation=correlation,
    )


BRAMBLE = (
    hoof(Limb.LF, width=124, length=127),
    hoof(Limb.RF, width=125.5, length=126.4),
    hoof(Limb.LH, width=119.5, length=125.2, sd=(2.1, 2.6)),
    hoof(Limb.RH, width=118.2, length=124, sd=(2.1, 2.6)),
)


def identity(prefix: str = "bramble") -> Identity:
    return Identity(prefix=prefix, title="Bramble", desc="Bramble's hooves.", language="en")


def sizes(
    *hooves: DrawnHoof, of: Sequence[Size] = MARLOWICK, chosen: Sequence[str] = ("teasel",), key: SizesKey | None = None
) -> SizesPicture:
    return SizesPicture(
        identity=identity(),
        sizes=tuple(of),
        chosen=frozenset(SizeCode(code) for code in chosen),
        hooves=hooves or BRAMBLE,
        ticks=TICKS,
        width_label="width, mm",
        length_label="length, mm",
        key=key or SizesKey(chosen="chosen", other="other", likely="two in five", nearly_sure="six in seven"),
        caption="Marlowick by Vellory.",
    )


def words(name: str, span: Range | None) -> ClearanceWords | MissingAxis:
    if span is None:
        return MissingAxis(name=name, sentence="The chart leaves it out.")
    return ClearanceWords(
        name=name,
        verdict=f"{name} even",
        smallest=f"{span.low_mm:g}",
        hoof=f"{name} here",
        largest=f"{span.high_mm:g}",
        above_smallest=f"{name} above",
        to_largest=f"{name} to spare",
    )


def sole(drawn: DrawnHoof | None = None, *, against: Size = TEASEL) -> SolePicture:
    return SolePicture(
        identity=identity(),
        hoof=drawn or hoof(),
        size=against,
        width=words("width", against.width),
        length=words("length", against.length),
        scale=Tick(at_mm=20.0, label="20 mm"),
        key=SoleKey(hoof="the hoof", doubt="its doubt", largest="the largest", smallest="the smallest"),
        caption="Seen from below.",
    )


def entry(
    drawn: DrawnHoof, *, best: Size | None = TEASEL, chance: float = 0.84, caution: Severity | None = None
) -> HoofEntry:
    return HoofEntry(
        hoof=drawn,
        size=best,
        boot="Marlowick, Vellory",
        chance=DrawnChance(value=chance, label=f"chance {chance:.0%}"),
        verdicts=("width even", "length snug"),
        caution=None if caution is None else DrawnCaution(severity=caution, label=f"caution {caution.value}"),
    )


def four(*entries: HoofEntry) -> FourHoovesPicture:
    return FourHoovesPicture(
        identity=identity(),
        hooves=entries or tuple(entry(drawn) for drawn in BRAMBLE),
        front="towards the head",
        caption="Seen from above.",
    )


def runs(
    *, start: float = 124.0, per_week: float = 0.5, weeks: float = 7.0, sd: float = 2.0, cycles: int = 2
) -> tuple[tuple[CyclePoint, ...], ...]:
    """A dimension that grows evenly between trims, and is trimmed back each time."""
    return tuple(
        tuple(
            CyclePoint(week=weeks * (cycle + share), mean_mm=start + per_week * weeks * share, sd_mm=sd + share)
            for share in (0.0, 0.5, 1.0)
        )
        for cycle in range(cycles)
    )


def panel(axis: Axis = Axis.WIDTH, *, span: Span = (120.0, 128.0), give: float = 2.0, **changes: float) -> CyclePanel:
    accepted = None if span is None else (span[0] - give, span[1] + 1.0)
    return CyclePanel(
        axis=axis,
        name=f"{axis.value}, mm",
        runs=runs(**changes),  # type: ignore[arg-type]
        span=_range(span),
        accepted=_range(accepted),
        said="It turns tight.",
    )


def cycle(*panels: CyclePanel, hooves: Sequence[DrawnCycle] = ()) -> CyclePicture:
    own = DrawnCycle(label="LF", found="Fits throughout.", panels=panels or (panel(), panel(Axis.LENGTH)))
    return CyclePicture(
        identity=identity(),
        hooves=tuple(hooves) or (own,),
        ticks=TICKS,
        weeks=tuple(WeekTick(at_week=float(week), label=str(week)) for week in range(40)),
        weeks_label="weeks",
        key=CycleKey(mean="the mean", likely="likely", nearly_sure="sure", span="range", give="give", trim="trim"),
        caption="Over the cycle.",
    )


def draw(picture: Picture) -> str:
    if isinstance(picture, CyclePicture):
        return cycle_picture(picture)
    if isinstance(picture, SizesPicture):
        return sizes_picture(picture)
    return sole_picture(picture) if isinstance(picture, SolePicture) else four_hooves_picture(picture)


nasty_texts = st.text(st.characters(), max_size=40) | st.sampled_from(
    (
        "<script>alert('&amp;')</script>",
        'a "quoted" & <b>bold</b> ]]> word',
        "nul \x00 bell \x07 lone \ud800 end \uffff",
        "  spread \t over\n\nlines  ",
        "Größe für Hufe — ½ Zoll 蹄 حافر 🐴 é",
        "unbreakable" * 12,
    )
)
lengths = st.floats(45, 230)


@st.composite
def hooves(draw: st.DrawFn, limb: Limb, label: str | None = None) -> DrawnHoof:
    width = draw(lengths)
    return DrawnHoof(
        limb=limb,
        label=draw(nasty_texts) if label is None else label,
        width_mm=width,
        length_mm=width * draw(st.floats(0.75, 1.25)),
        width_sd_mm=draw(st.floats(0.3, 9)),
        length_sd_mm=draw(st.floats(0.3, 9)),
        correlation=draw(st.floats(-0.95, 0.95)),
    )


@st.composite
def charts(draw: st.DrawFn) -> tuple[Size, ...]:
    """Sizes in even steps, overlapping or not, each with both axes or with one."""
    step, extent, first = draw(st.floats(2, 15)), draw(st.floats(2, 18)), draw(st.floats(60, 170))
    longer = draw(st.floats(-10, 10))
    found = []
    for place in range(draw(st.integers(1, 12))):
        low = first + place * step
        left_out = draw(st.sampled_from((None, None, None, "width", "length")))
        width = None if left_out == "width" else (low, low + extent)
        length = None if left_out == "length" else (low + longer, low + longer + extent)
        found.append(size(f"{draw(nasty_texts)[:38]}{place}", width=width, length=length))
    return tuple(found)


@st.composite
def sizes_pictures(draw: st.DrawFn) -> SizesPicture:
    chart = draw(charts())
    limbs = draw(st.lists(st.sampled_from(Limb), min_size=1, unique=True))
    return SizesPicture(
        identity=Identity(prefix="any-1", title=draw(nasty_texts), desc=draw(nasty_texts)),
        sizes=chart,
        chosen=frozenset(draw(st.lists(st.sampled_from([one.code for one in chart]), max_size=2))),
        hooves=tuple(draw(hooves(limb)) for limb in limbs),
        ticks=draw(st.sampled_from((TICKS, TICKS[:1], ()))),
        width_label=draw(nasty_texts),
        length_label=draw(nasty_texts),
        key=SizesKey(**{field: draw(nasty_texts) for field in SizesKey.__slots__}),
        caption=draw(nasty_texts),
    )


@st.composite
def sole_pictures(draw: st.DrawFn) -> SolePicture:
    against = draw(st.sampled_from(draw(charts())))
    axes = [
        MissingAxis(name=draw(nasty_texts), sentence=draw(nasty_texts))
        if span is None
        else ClearanceWords(**{field: draw(nasty_texts) for field in ClearanceWords.__slots__})
        for span in (against.width, against.length)
    ]
    return SolePicture(
        identity=Identity(prefix="any-2", title=draw(nasty_texts), desc=draw(nasty_texts)),
        hoof=draw(hooves(draw(st.sampled_from(Limb)))),
        size=against,
        width=axes[0],
        length=axes[1],
        scale=Tick(at_mm=draw(st.floats(5, 30)), label=draw(nasty_texts)),
        key=SoleKey(**{field: draw(nasty_texts) for field in SoleKey.__slots__}),
        caption=draw(nasty_texts),
    )


@st.composite
def four_pictures(draw: st.DrawFn) -> FourHoovesPicture:
    limbs = draw(st.lists(st.sampled_from(Limb), min_size=1, unique=True))
    chart = draw(charts())
    chances = st.builds(DrawnChance, value=st.floats(0, 1), label=nasty_texts)
    cautions = st.builds(DrawnCaution, severity=st.sampled_from(Severity), label=nasty_texts)
    return FourHoovesPicture(
        identity=Identity(prefix="any-3", title=draw(nasty_texts), desc=draw(nasty_texts)),
        hooves=tuple(
            HoofEntry(
                hoof=draw(hooves(limb)),
                size=draw(st.none() | st.sampled_from(chart)),
                boot=draw(nasty_texts),
                chance=draw(st.none() | chances),
                verdicts=tuple(draw(st.lists(nasty_texts, max_size=3))),
                caution=draw(st.none() | cautions),
            )
            for limb in limbs
        ),
        front=draw(nasty_texts),
        caption=draw(nasty_texts),
    )


@st.composite
def cycle_pictures(draw: st.DrawFn) -> CyclePicture:
    def panels() -> tuple[CyclePanel, ...]:
        low = draw(st.floats(60, 190))
        return tuple(
            CyclePanel(
                axis=axis,
                name=draw(nasty_texts),
                runs=runs(
                    start=draw(lengths),
                    per_week=draw(st.floats(-1.5, 1.5)),
                    weeks=draw(st.floats(2, 16)),
                    sd=draw(st.floats(0.3, 9)),
                    cycles=draw(st.integers(1, 3)),
                ),
                span=_range((low, low + 5) if has_span else None),
                accepted=_range((low - 4, low + 6) if has_span else None),
                said=draw(nasty_texts),
            )
            for axis, has_span in ((Axis.WIDTH, draw(st.booleans())), (Axis.LENGTH, draw(st.booleans())))
        )

    return replace(
        cycle(),
        identity=Identity(prefix="any-4", title=draw(nasty_texts), desc=draw(nasty_texts)),
        hooves=tuple(
            DrawnCycle(label=draw(nasty_texts), found=draw(nasty_texts), panels=panels() if draw(st.booleans()) else ())
            for _ in range(draw(st.integers(1, 4)))
        ),
        ticks=draw(st.sampled_from((TICKS, TICKS[:1], ()))),
        weeks_label=draw(nasty_texts),
        key=CycleKey(**{field: draw(nasty_texts) for field in CycleKey.__slots__}),
        caption=draw(nasty_texts),
    )


pictures = sizes_pictures() | sole_pictures() | four_pictures() | cycle_pictures()


def handed_in(picture: Picture) -> Iterator[str]:
    """Every text that the picture has to show, wherever its hooves and sizes lie."""
    yield from (picture.identity.title, picture.identity.desc, picture.caption)
    if isinstance(picture, SizesPicture):
        yield from (picture.width_label, picture.length_label, *(drawn.label for drawn in picture.hooves))
        yield from (getattr(picture.key, field) for field in SizesKey.__slots__)
        yield from picture.chosen
    elif isinstance(picture, SolePicture):
        yield from (picture.hoof.label, picture.size.code, picture.scale.label)
        yield from (getattr(picture.key, field) for field in SoleKey.__slots__)
        for axis in (picture.width, picture.length):
            yield from (getattr(axis, field) for field in type(axis).__slots__)
    elif isinstance(picture, CyclePicture):
        panels = [one for drawn in picture.hooves for one in drawn.panels]
        yield from (text for drawn in picture.hooves for text in (drawn.label, drawn.found))
        yield from (text for one in panels for text in (one.name, one.said, picture.weeks_label))
        shown = {"mean", "likely", "nearly_sure", "trim"} if panels else set()
        shown |= {"span", "give"} if any(one.span is not None for one in panels) else set()
        yield from (getattr(picture.key, field) for field in sorted(shown))
    else:
        yield picture.front
        for found in picture.hooves:
            yield from (found.hoof.label, found.boot, *found.verdicts)
            yield from [] if found.size is None else [found.size.code]
            yield from [] if found.chance is None else [found.chance.label]
            yield from [] if found.caution is None else [found.caution.label]
