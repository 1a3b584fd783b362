"""Coverage: what share of a herd's hooves the sizes of a shelf take, by kind of animal, fore and hind, and the gaps."""

from collections import defaultdict
from datetime import date

import numpy as np

from hooflast.catalog.values import LimbSet
from hooflast.fit.coverage import Gap, coverage, gaps, regions
from hooflast.fit.herd import Herd
from hooflast.fit.hoof import AnimalType
from hooflast.fit.remark import Remark
from hooflast.matching.coverage_answer import CoverageAnswer, CoverageGap, CoverageQuestion, CoveredPlane, NearestSize
from hooflast.matching.herds import (
    Stock,
    herd_assumptions,
    herd_cautions,
    measured_or_spread,
    stock_in_question,
)
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of


def find_coverage(question: CoverageQuestion, shelf: Shelf, *, today: date, language: str) -> CoverageAnswer:
    """Find what is covered and what is not. Raises InputRefused for makers and boot models that are not there."""
    herd = measured_or_spread(question.herd)
    stock = stock_in_question(question.herd, shelf, today=today)
    parted: dict[tuple[AnimalType, bool], list[int]] = defaultdict(list)
    for place, hoof in enumerate(herd.hooves):
        parted[hoof.animal_type, hoof.limb.is_fore].append(place)
    planes = [
        _plane(herd, places, question=question, stock=stock, shelf=shelf)
        for _, places in sorted(parted.items(), key=lambda one: (one[0][0], not one[0][1]))
    ]
    return CoverageAnswer(
        question=question,
        horses=len(herd.horse_weights),
        hooves=len(herd.hooves),
        served=sum(plane.share * plane.served for plane in planes),
        by_chance=sum(plane.share * plane.by_chance for plane in planes),
        planes=tuple(sorted(planes, key=lambda plane: -round(plane.share, 9))),
        cautions=herd_cautions(question.herd),
        assumptions=(
            *herd_assumptions(question.herd),
            Remark(code="covered-from", facts={"threshold_chance": question.threshold}),
        ),
        versions=versions_of(shelf, language=language),
    )


def _plane(herd: Herd, places: list[int], *, question: CoverageQuestion, stock: Stock, shelf: Shelf) -> CoveredPlane:
    hooves = [herd.hooves[place] for place in places]
    weights = herd.hoof_weights[places]
    one = hooves[0]
    suited = stock.part_for(one.animal_type, limb=one.limb)
    estimates = [hoof.estimate for hoof in hooves]
    covered = coverage(estimates, suited.table, weights=weights / weights.sum(), threshold=question.threshold)
    is_measured = bool(question.herd.horses)
    return CoveredPlane(
        animal_type=one.animal_type,
        limbs=LimbSet.FORE if one.limb.is_fore else LimbSet.HIND,
        share=float(weights.sum()),
        served=covered.served,
        by_chance=covered.by_chance,
        regions=regions(covered, is_fore=one.limb.is_fore),
        gaps=tuple(
            _gap(gap, number=number, stock=suited, shelf=shelf)
            for number, gap in enumerate(gaps(covered, suited.table, is_fore=one.limb.is_fore), start=1)
        ),
        boots=len(suited.boots),
        sizes=suited.sizes,
        covered=covered,
        hooves=np.array([estimate.mean for estimate in estimates] if is_measured else []).reshape(-1, 2),
    )


def _gap(gap: Gap, *, number: int, stock: Stock, shelf: Shelf) -> CoverageGap:
    return CoverageGap(
        number=number,
        width_mm=gap.width_mm,
        length_mm=gap.length_mm,
        share=gap.share,
        shape=gap.shape,
        nearest=None if gap.nearest is None else _nearest(gap, gap.nearest, stock=stock, shelf=shelf),
    )


def _nearest(gap: Gap, size: int, *, stock: Stock, shelf: Shelf) -> NearestSize:
    boot = stock.boot_of(size)
    return NearestSize(
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        size=stock.sizes[size],
        beyond_width_mm=gap.beyond_mm[0],
        beyond_length_mm=gap.beyond_mm[1],
    )
