"""Pads: what a pad does to the size of a horse's boots, how thick it may be, and which pads of the catalog go along.

Which pad a foot should have is for the veterinarian or hoof-care professional to say. On an acutely painful foot one
size is told, and no series.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from itertools import chain, islice
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from hooflast.catalog.values import AccessoryKind, BootModel
from hooflast.errors import Fault, InputRefused
from hooflast.fit.chances import VERDICTS, verdict_chances
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import HoofReading, Limb
from hooflast.fit.match import match_hoof
from hooflast.fit.pad import Pad, RoomLost, room_lost
from hooflast.fit.padded import KEEPS, padded, padded_sizes, thickness_limits
from hooflast.fit.remark import Caution, Fact, Severity
from hooflast.fit.sizes import AXES
from hooflast.matching.answer import Estimated, LeftOutBecause, SizeFit
from hooflast.matching.boot_fits import middle_verdict
from hooflast.matching.cautions import CATALOG, COMMON_PRACTICE, CONVENTION, assumptions, hoof_cautions, horse_cautions
from hooflast.matching.choosing import choose_boots, standing_only
from hooflast.matching.needs import is_painful
from hooflast.matching.padding import asked_pad, pad_advice, pad_assumptions, pad_cautions
from hooflast.matching.pads_answer import BootWithPad, CatalogPad, HoofWithPad, PadEffect, PadsAnswer, PadsQuestion
from hooflast.matching.question import MatchQuestion
from hooflast.matching.reasons import DOUBTFUL, doubtful
from hooflast.matching.shelf import MOST_ACCESSORIES, Shelf
from hooflast.matching.versions import versions_of


def answer_pads(question: PadsQuestion, shelf: Shelf, *, today: date, language: str) -> PadsAnswer:
    """Work out every hoof of one horse with the asked pad. A foal gets its cautions and no boots.

    Raises InputRefused for a boot model that the catalog release does not have.
    """
    horse = question.horse
    shelf = shelf.on(today)
    boots, left_out = _boots(question, shelf, today=today)
    return PadsAnswer(
        question=question,
        hooves=tuple(
            _hoof(reading, boots=boots[reading.limb], question=question, shelf=shelf) for reading in horse.hooves
        ),
        needs=tuple(pad_advice(named) for named in horse.needs),
        cautions=(*horse_cautions(horse), *pad_cautions(horse)),
        assumptions=(*assumptions(horse), *pad_assumptions(horse)),
        left_out=left_out,
        versions=versions_of(shelf, language=language),
    )


Boots = NDArray[np.intp]


def _boots(
    question: PadsQuestion, shelf: Shelf, *, today: date
) -> tuple[Mapping[Limb, Boots], Mapping[LeftOutBecause, int]]:
    """Per limb the boot models in question; a named one is looked at even if its maker allows no such pad."""
    horse = question.horse
    if question.boot is None:
        choice = choose_boots(horse, shelf, today=today)
        return choice.boots, choice.left_out
    at = next((index for index, boot in enumerate(shelf.boots) if boot.id == question.boot), None)
    if at is None:
        raise InputRefused(faults=(Fault(path=("boot",), code="boot-unknown", received=question.boot),))
    alone = choose_boots(replace(horse, pad_mm=0.0), replace(shelf, boots=(shelf.boots[at],)), today=today)
    return {limb: chosen + at for limb, chosen in alone.boots.items()}, alone.left_out


def _hoof(reading: HoofReading, *, boots: Boots, question: PadsQuestion, shelf: Shelf) -> HoofWithPad:
    horse = question.horse
    estimate = estimate_hoof(reading, animal_type=horse.animal_type)
    deviations = np.sqrt(np.diagonal(estimate.covariance))
    width, length = (
        Estimated(mean_mm=float(mean), standard_uncertainty_mm=float(deviation))
        for mean, deviation in zip(estimate.mean, deviations, strict=True)
    )
    pad = asked_pad(horse)
    room = room_lost(pad, hoof_length_mm=length.mean_mm)
    shown = [] if horse.is_foal else _shown(padded(estimate, pad=pad), boots=boots, question=question, shelf=shelf)
    cautions = hoof_cautions(reading, animal_type=horse.animal_type) + _lift_cautions(room)
    if not shown and not horse.is_foal:
        cautions += (Caution(code="no-boot-near", severity=Severity.LOOK_AGAIN, source=CONVENTION),)
    return HoofWithPad(
        reading=reading,
        width=width,
        length=length,
        room=room,
        boots=tuple(_boot(at, estimate=estimate, pad=pad, horse=horse, shelf=shelf) for at in shown),
        cautions=cautions,
    )


def _shown(hoof: Estimate, *, boots: Boots, question: PadsQuestion, shelf: Shelf) -> list[int]:
    """The boot models to tell about: the named one, or those that follow the padded hoof best."""
    if question.boot is not None:
        return [int(at) for at in boots]
    at_most = question.horse.boots_per_hoof
    match = match_hoof(hoof, shelf.layout, boots=boots, wish_rank=[0] * len(shelf.boots), at_most=at_most)
    return [found.boot for found in match.boots]


def _boot(at: int, *, estimate: Estimate, pad: Pad, horse: MatchQuestion, shelf: Shelf) -> BootWithPad:
    boot = shelf.boots[at]
    painful = is_painful(horse.needs)
    found = padded_sizes(estimate, shelf.table, boot=at, pad=pad, thicknesses_mm=[0.0, pad.thickness_mm])
    bare, with_pad = (
        _size(int(size), hoof=hoof, fit_chance=float(chance), shelf=shelf)
        for size, chance, hoof in zip(found.best, found.served, (estimate, padded(estimate, pad=pad)), strict=True)
    )
    effect = PadEffect.TOO_THICK if pad.thickness_mm > boot.max_pad_mm else _effect(bare, with_pad)
    catalog_pads = _catalog_pads(at, estimate=estimate, bare=bare, shelf=shelf)
    return BootWithPad(
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        effect=effect,
        without=None if painful else bare,
        with_pad=None if effect is PadEffect.TOO_THICK else with_pad,
        limits=None if painful else thickness_limits(estimate, shelf.table, boot=at, pad=pad, most_mm=boot.max_pad_mm),
        catalog_pads=() if painful else tuple(islice(catalog_pads, MOST_ACCESSORIES)),
        cautions=tuple(_boot_cautions(boot, effect=effect, bare=bare, with_pad=with_pad, horse=horse)),
    )


def _effect(bare: SizeFit, with_pad: SizeFit) -> PadEffect:
    if with_pad.fit_chance <= KEEPS * bare.fit_chance:
        return PadEffect.OUT_OF_THE_BOOT_MODEL
    return PadEffect.SAME_SIZE if with_pad.size.code == bare.size.code else PadEffect.OTHER_SIZE


def _size(size: int, *, hoof: Estimate, fit_chance: float, shelf: Shelf) -> SizeFit:
    table = shelf.table
    rows = verdict_chances(hoof, edges_mm=table.edges_mm[size], edge_sd_mm=table.edge_sd_mm[size])
    chances = {
        axis: {verdict: float(chance) for verdict, chance in zip(VERDICTS, rows[column], strict=True)}
        for column, axis in enumerate(AXES)
        if table.has_axis[size, column]
    }
    return SizeFit(
        size=shelf.sizes[size],
        fit_chance=fit_chance,
        verdicts={axis: middle_verdict(row) for axis, row in chances.items()},
        verdict_chances=chances,
    )


def _catalog_pads(at: int, *, estimate: Estimate, bare: SizeFit, shelf: Shelf) -> Iterator[CatalogPad]:
    """The catalog's pads that go with the boot model in the size that is best with them, thinnest first.

    A catalog does not say how a pad lies or gives way: each counts as a full pad of unknown softness.
    """
    boot = shelf.boots[at]
    going = chain.from_iterable(shelf.accessories.get((boot.id, size.code), ()) for size in boot.sizes)
    thicknesses = {
        accessory.id: accessory.thickness_mm
        for accessory, _ in going
        if accessory.kind is AccessoryKind.PAD and accessory.thickness_mm is not None
    }
    for accessory_id, thickness_mm in sorted(thicknesses.items(), key=itemgetter(1, 0)):
        pad = Pad(thickness_mm=thickness_mm)
        found = padded_sizes(estimate, shelf.table, boot=at, pad=pad, thicknesses_mm=[thickness_mm])
        with_pad = _size(
            int(found.best[0]), hoof=padded(estimate, pad=pad), fit_chance=float(found.served[0]), shelf=shelf
        )
        for one, size in shelf.accessories.get((boot.id, with_pad.size.code), ()):
            if one.id == accessory_id:
                yield CatalogPad(
                    accessory=one,
                    thickness_mm=thickness_mm,
                    size=size,
                    boot_size=with_pad,
                    effect=_effect(bare, with_pad),
                )


def _lift_cautions(room: RoomLost) -> tuple[Caution, ...]:
    """How far the pad brings the hoof up against the collar, and how far it turns it."""
    lift: dict[str, Fact] = {"lift_mm": room.heel_lift_mm}
    if room.tilt_deg:
        facts = lift | {"tilt_degrees": round(room.tilt_deg, 1)}
        return (Caution(code="pad-tilts", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=facts),)
    if room.heel_lift_mm:
        return (Caution(code="pad-lifts", severity=Severity.NOTE, source=COMMON_PRACTICE, facts=lift),)
    return ()


def _boot_cautions(
    boot: BootModel, *, effect: PadEffect, bare: SizeFit, with_pad: SizeFit, horse: MatchQuestion
) -> Iterator[Caution]:
    painful = is_painful(horse.needs)
    if effect is PadEffect.TOO_THICK:
        limit: dict[str, Fact] = {"pad_mm": horse.pad_mm, "most_mm": boot.max_pad_mm}
        yield Caution(code="pad-above-limit", severity=Severity.STOP, source=CATALOG, facts=limit)
    elif effect is PadEffect.OUT_OF_THE_BOOT_MODEL:
        yield Caution(code="pad-out-of-the-boot-model", severity=Severity.LOOK_AGAIN, source=CONVENTION)
    elif effect is PadEffect.OTHER_SIZE and not painful:
        sizes = {"size": bare.size.code, "padded_size": with_pad.size.code}
        yield Caution(code="pad-other-size", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=sizes)
    if effect is not PadEffect.TOO_THICK and with_pad.fit_chance < DOUBTFUL:
        yield doubtful(with_pad, horse)
    if standing_only(boot):
        yield Caution(code="standing-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE)
