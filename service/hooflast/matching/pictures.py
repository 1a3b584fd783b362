"""Pictures: an answer drawn. The numbers are the answer's, every word comes from `texts` (keys `picture.…`)."""

from collections.abc import Iterable
from typing import Final

from hooflast import draw
from hooflast.catalog.values import BootId, LimbSet, Range, SizeCode
from hooflast.draw import (
    ClearanceWords,
    DrawnCaution,
    DrawnChance,
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
    clearance,
)
from hooflast.errors import Fact, NotFound
from hooflast.fit.hoof import Axis, Limb
from hooflast.fit.remark import Severity
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import BootFit, HoofAnswer, MatchAnswer, Padded
from hooflast.matching.gravity import about_hoof, gravest
from hooflast.matching.needs import is_painful
from hooflast.texts import Texts
from hooflast.units import Unit, read_length

TICKS: Final = {
    Unit.MM: [float(at) for at in range(20, 301, 5)],
    Unit.CM: [at / 2 for at in range(4, 61)],
    Unit.INCH: [at / 4 for at in range(4, 49)],
}
"""The lengths written on the axes, in the asker's unit."""

SCALE: Final = {Unit.MM: 20.0, Unit.CM: 2.0, Unit.INCH: 1.0}
"""The length of a scale bar, in the asker's unit."""


def hooves_picture(answer: MatchAnswer, *, texts: Texts, prefix: str = "hooves") -> str:
    """All hooves of the answer as the horse stands, each with the first boot found for it, as SVG."""
    texts = texts.in_unit(answer.question.unit)
    told = [texts.say("picture.hooves.about"), *(_found(hoof, texts=texts) for hoof in answer.hooves)]
    picture = FourHoovesPicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.hooves.title", _name(answer)),
            desc=" ".join(told),
            language=texts.language,
        ),
        hooves=tuple(_entry(hoof, answer=answer, texts=texts) for hoof in answer.hooves),
        front=texts.say("picture.hooves.front"),
        caption=texts.say("picture.hooves.caption"),
    )
    return draw.four_hooves_picture(picture)


def sole_picture(answer: MatchAnswer, *, limb: Limb, texts: Texts, prefix: str = "sole") -> str:
    """One hoof from below against the best size of its first boot, as SVG. Raises NotFound if it has no boot."""
    texts = texts.in_unit(answer.question.unit)
    hoof = hoof_of(answer, limb)
    fit = fit_of(hoof)
    words = {axis: _axis_words(hoof, fit, axis=axis, texts=texts) for axis in Axis}
    facts = {**_boot_facts(fit), "limb": limb.value}
    picture = SolePicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.sole.title", facts),
            desc=" ".join(_spoken(one, texts=texts) for one in words.values()),
            language=texts.language,
        ),
        hoof=_drawn(hoof, seen=_in_boot(hoof), texts=texts),
        size=fit.best.size,
        width=words[Axis.WIDTH],
        length=words[Axis.LENGTH],
        scale=Tick(at_mm=_mm(SCALE[texts.unit], texts=texts), label=texts.length(_mm(SCALE[texts.unit], texts=texts))),
        key=SoleKey(
            hoof=texts.say("picture.key.hoof"),
            doubt=texts.say("picture.key.doubt"),
            largest=texts.say("picture.key.largest"),
            smallest=texts.say("picture.key.smallest"),
        ),
        caption=_with_pad(texts.say("picture.sole.caption", facts), [hoof], texts=texts),
    )
    return draw.sole_picture(picture)


def sizes_picture(
    answer: MatchAnswer, *, texts: Texts, limb: Limb, boot: BootId | None = None, prefix: str = "sizes"
) -> str:
    """The sizes of one boot model (the first, if none is named) with one hoof among them, as SVG. Raises NotFound."""
    hoof = hoof_of(answer, limb)
    return _sizes((hoof,), fit_of(hoof, boot=boot), answer=answer, texts=texts, prefix=prefix)


def horse_sizes_picture(answer: MatchAnswer, *, texts: Texts, boot: BootId, prefix: str = "sizes") -> str:
    """The sizes of one boot model with all hooves among them that it is made for, as SVG. Raises NotFound."""
    shown = [fit for hoof in answer.hooves for fit in _shown(hoof) if fit.boot.id == boot]
    if not shown:
        raise NotFound(resource="boot model", name=boot)
    made_for = shown[0].boot.limbs
    hooves = tuple(
        hoof
        for hoof in answer.hooves
        if made_for is LimbSet.ALL or (made_for is LimbSet.FORE) == hoof.reading.limb.is_fore
    )
    return _sizes(hooves, shown[0], answer=answer, texts=texts, prefix=prefix)


def hoof_of(answer: MatchAnswer, limb: Limb) -> HoofAnswer:
    """The answer for one limb. Raises NotFound."""
    for hoof in answer.hooves:
        if hoof.reading.limb is limb:
            return hoof
    raise NotFound(resource="hoof", name=limb.value)


def fit_of(hoof: HoofAnswer, *, boot: BootId | None = None) -> BootFit:
    """One boot model on a hoof, or the first of those shown. Raises NotFound."""
    if boot is None and hoof.boots:
        return hoof.boots[0]
    for fit in _shown(hoof):
        if fit.boot.id == boot:
            return fit
    raise NotFound(resource="boot model", name=boot or hoof.reading.limb.value)


def _sizes(hooves: Iterable[HoofAnswer], fit: BootFit, *, answer: MatchAnswer, texts: Texts, prefix: str) -> str:
    """On a painful foot no series of sizes is shown: the best sizes stand alone."""
    texts = texts.in_unit(answer.question.unit)
    best = {hoof.reading.limb: _best_of(hoof, boot=fit.boot.id) for hoof in hooves}
    chosen = frozenset(code for code in best.values() if code is not None)
    sizes = fit.boot.sizes
    if is_painful(answer.question.needs):
        sizes = tuple(size for size in sizes if size.code in chosen)
    has_one_axis = any(size.width is None or size.length is None for size in sizes)
    facts = _boot_facts(fit)
    told = [_among_sizes(hoof, code=best[hoof.reading.limb], texts=texts) for hoof in hooves]
    picture = SizesPicture(
        identity=Identity(
            prefix=prefix,
            title=texts.say("picture.sizes.title", facts),
            desc=" ".join(told),
            language=texts.language,
        ),
        sizes=sizes,
        chosen=chosen,
        hooves=tuple(_drawn(hoof, seen=_in_boot(hoof), texts=texts) for hoof in hooves),
        ticks=tuple(
            Tick(at_mm=_mm(at, texts=texts), label=texts.say("picture.tick", {"at": at})) for at in TICKS[texts.unit]
        ),
        width_label=texts.say("picture.sizes.width", {"unit": texts.unit.value}),
        length_label=texts.say("picture.sizes.length", {"unit": texts.unit.value}),
        key=SizesKey(
            chosen=texts.say("picture.key.chosen"),
            other=texts.say("picture.key.other") if len(sizes) > len(chosen) else "",
            likely=texts.say("picture.key.likely"),
            nearly_sure=texts.say("picture.key.nearly-sure"),
            one_axis=texts.say("picture.key.one-axis") if has_one_axis else "",
        ),
        caption=_with_pad(texts.say("picture.sizes.caption", facts), hooves, texts=texts),
    )
    return draw.sizes_picture(picture)


def _shown(hoof: HoofAnswer) -> tuple[BootFit, ...]:
    return (*hoof.boots, *(alternative.fit for alternative in hoof.alternatives))


def _best_of(hoof: HoofAnswer, *, boot: BootId) -> SizeCode | None:
    return next((fit.best.size.code for fit in _shown(hoof) if fit.boot.id == boot), None)


def _entry(hoof: HoofAnswer, *, answer: MatchAnswer, texts: Texts) -> HoofEntry:
    """A note is read beside a hoof; the picture marks what asks for more than reading."""
    severity = gravest(about_hoof(hoof, answer))
    caution = None
    if severity not in (None, Severity.NOTE):
        caution = DrawnCaution(severity=severity, label=texts.say(f"severity.{severity}"))
    drawn = _drawn(hoof, seen=_bare(hoof), texts=texts)
    if not hoof.boots:
        return HoofEntry(hoof=drawn, size=None, boot=texts.say("picture.no-boot"), chance=None, caution=caution)
    fit = hoof.boots[0]
    chance = fit.best.fit_chance
    return HoofEntry(
        hoof=drawn,
        size=fit.best.size,
        boot=texts.say("picture.boot", _boot_facts(fit)),
        chance=DrawnChance(value=min(max(chance, 0.0), 1.0), label=texts.say("picture.chance", {"fit_chance": chance})),
        verdicts=tuple(
            texts.say("picture.verdict", {"axis": axis.value, "verdict": verdict.value})
            for axis, verdict in fit.best.verdicts.items()
        ),
        caution=caution,
    )


def _found(hoof: HoofAnswer, *, texts: Texts) -> str:
    limb = {"limb": hoof.reading.limb.value}
    if not hoof.boots:
        return texts.say("picture.hooves.none", limb)
    fit = hoof.boots[0]
    return texts.say("picture.hooves.found", {**limb, **_boot_facts(fit), "fit_chance": fit.best.fit_chance})


def _among_sizes(hoof: HoofAnswer, *, code: SizeCode | None, texts: Texts) -> str:
    seen = _in_boot(hoof)
    facts: dict[str, Fact] = {
        "limb": hoof.reading.limb.value,
        "width_mm": seen.width.mean_mm,
        "length_mm": seen.length.mean_mm,
    }
    return texts.say("picture.sizes.hoof", facts if code is None else {**facts, "size": code})


def _in_boot(hoof: HoofAnswer) -> Padded:
    """The hoof as the boots see it, with the pad that was asked for."""
    return hoof.in_boot or _bare(hoof)


def _bare(hoof: HoofAnswer) -> Padded:
    return Padded(width=hoof.width, length=hoof.length)


def _with_pad(caption: str, hooves: Iterable[HoofAnswer], *, texts: Texts) -> str:
    """A caption that says of hooves drawn as the boots see them that a pad is in it."""
    return f"{caption} {texts.say('picture.with-pad')}" if any(hoof.in_boot for hoof in hooves) else caption


def _drawn(hoof: HoofAnswer, *, seen: Padded, texts: Texts) -> DrawnHoof:
    return DrawnHoof(
        limb=hoof.reading.limb,
        label=texts.say(f"limb.{hoof.reading.limb}"),
        width_mm=seen.width.mean_mm,
        length_mm=seen.length.mean_mm,
        width_sd_mm=seen.width.standard_uncertainty_mm,
        length_sd_mm=seen.length.standard_uncertainty_mm,
        correlation=hoof.correlation,
    )


def _axis_words(hoof: HoofAnswer, fit: BootFit, *, axis: Axis, texts: Texts) -> ClearanceWords | MissingAxis:
    spans: dict[Axis, Range | None] = {Axis.WIDTH: fit.best.size.width, Axis.LENGTH: fit.best.size.length}
    name, span = texts.say(f"axis.{axis}"), spans[axis]
    if span is None:
        return MissingAxis(name=name, sentence=texts.say("picture.missing", {"axis": axis.value}))
    seen = _in_boot(hoof)
    hoof_mm = (seen.width if axis is Axis.WIDTH else seen.length).mean_mm
    found = clearance(hoof_mm, span)
    verdict: Verdict = fit.best.verdicts[axis]
    return ClearanceWords(
        name=name,
        verdict=texts.say(f"verdict.{verdict}"),
        smallest=texts.length(span.low_mm),
        hoof=texts.say("picture.hoof", {"hoof_mm": hoof_mm}),
        largest=texts.length(span.high_mm),
        above_smallest=_gap(found.above_smallest_mm, kept="above-smallest", used_up="below-smallest", texts=texts),
        to_largest=_gap(found.to_largest_mm, kept="to-largest", used_up="past-largest", texts=texts),
    )


def _gap(gap_mm: float, *, kept: str, used_up: str, texts: Texts) -> str:
    return texts.say(f"picture.{kept if gap_mm >= 0 else used_up}", {"gap_mm": abs(gap_mm)})


def _spoken(words: ClearanceWords | MissingAxis, *, texts: Texts) -> str:
    if isinstance(words, MissingAxis):
        return words.sentence
    return texts.say(
        "picture.sole.axis",
        {
            "name": words.name,
            "said": words.verdict,
            "hoof": words.hoof,
            "above": words.above_smallest,
            "below": words.to_largest,
        },
    )


def _boot_facts(fit: BootFit) -> dict[str, Fact]:
    return {"boot": fit.boot.name, "maker": fit.maker.name, "size": fit.best.size.code}


def _name(answer: MatchAnswer) -> dict[str, Fact]:
    return {"horse_name": answer.question.horse_name} if answer.question.horse_name else {}


def _mm(length: float, *, texts: Texts) -> float:
    return read_length(length, unit=texts.unit).mm
