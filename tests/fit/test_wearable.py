"""What a hoof could wear: the numbers of a match, and how far apart two sizes may be without telling which fits."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import Limb
from hooflast.fit.layout import lay_out_sizes
from hooflast.fit.match import match_hoof
from hooflast.fit.ranking import LEAST_BAND
from hooflast.fit.sizes import BootChart, size_table
from hooflast.fit.wearable import HoofBoots, doubt, doubt_of_all, hoof_boots

from .strategies import bounded, charts, hoof, known, mixtures


def worn_by(estimate: Estimate, *boots: BootChart) -> tuple[HoofBoots, tuple[str, ...]]:
    ids = tuple(f"boot-{place}" for place in range(len(boots)))
    layout = lay_out_sizes(size_table(boots))
    return hoof_boots(estimate, layout, limb=Limb.LF, boots=np.arange(len(boots)), ids=ids), ids


@bounded
@given(estimate=mixtures(), one=charts(), other=charts())
def test_chances_and_best_sizes_are_those_of_the_match(estimate: Estimate, one: BootChart, other: BootChart) -> None:
    wearable, ids = worn_by(estimate, one, other)
    layout = lay_out_sizes(size_table([one, other]))
    match = match_hoof(estimate, layout, boots=np.arange(2), wish_rank=[0, 0])
    for found in match.boots:
        sizes = wearable.sizes[ids[found.boot]]
        rows = layout.table.sizes_of(found.boot)
        assert [size.size for size in sizes] == list(range(len(rows)))
        assert [size.fit_chance for size in sizes] == pytest.approx(match.fit_chances[rows], abs=2e-4)
        assert sizes[found.best - rows.start].worth == pytest.approx(max(size.worth for size in sizes), abs=2e-4)
        assert wearable.closeness[ids[found.boot]] == pytest.approx(found.closeness)


@bounded
@given(estimate=mixtures(), chart=charts())
def test_a_size_is_never_worth_more_than_it_is_likely_to_fit(estimate: Estimate, chart: BootChart) -> None:
    wearable, (boot,) = worn_by(estimate, chart)
    assert all(0.0 <= size.worth <= size.fit_chance + 1e-12 <= 1.0 + 1e-9 for size in wearable.sizes[boot])


def test_only_the_boots_in_question_are_worn() -> None:
    table = size_table([ladder_of(116.0), ladder_of(90.0), ladder_of(100.0, 108.0, 116.0), ladder_of(108.0, 116.0)])
    boots, ids = np.array([3, 2, 0]), ("a", "b", "c", "d")
    wearable = hoof_boots(hoof(120.0, 124.0), lay_out_sizes(table), limb=Limb.RH, boots=boots, ids=ids)
    assert (set(wearable.sizes), set(wearable.closeness), wearable.limb) == (set("acd"), set("acd"), Limb.RH)
    likely = {boot: [size.fit_chance > 0.5 for size in sizes] for boot, sizes in wearable.sizes.items()}
    assert likely == {"a": [True], "c": [False, False, True], "d": [False, True]}


def test_without_a_boot_in_question_nothing_is_worn() -> None:
    layout = lay_out_sizes(size_table([ladder_of(116.0)]))
    wearable = hoof_boots(hoof(120.0, 124.0), layout, limb=Limb.LF, boots=np.array([], dtype=np.intp), ids=("a",))
    assert (wearable.sizes, wearable.closeness) == ({}, {})


@pytest.mark.parametrize(("closure", "worth"), [(Closure.PULL_ON, 0.75**2), (Closure.STRAP, 0.85**2)])
def test_a_roomy_place_is_worth_less_in_a_boot_that_cannot_be_tightened(closure: Closure, *, worth: float) -> None:
    chart = BootChart(closure=closure, widths_mm=[(100.0, 160.0)], lengths_mm=[(100.0, 160.0)])
    wearable, (boot,) = worn_by(known(110.0, 110.0), chart)
    assert wearable.sizes[boot][0].fit_chance == pytest.approx(1.0)
    assert wearable.sizes[boot][0].worth == pytest.approx(worth)


def ladder_of(*lows_mm: float) -> BootChart:
    """A strapped boot model whose sizes begin at these widths."""
    return BootChart(
        closure=Closure.STRAP,
        widths_mm=[(low, low + 8.0) for low in lows_mm],
        lengths_mm=[(low + 4.0, low + 12.0) for low in lows_mm],
    )


@pytest.mark.parametrize("sd", [(1.0, 1.5), (2.0, 3.0), (4.0, 2.5)])
def test_the_doubt_is_a_quarter_of_what_a_boot_made_to_measure_loses(sd: tuple[float, float]) -> None:
    def accepted(axis_sd: float, *, tight_give: float) -> float:
        """Chance that a pull-on's range of 5 mm around the mean takes one axis, with the boots' own spread of 1 mm."""
        loose = ndtr((2.5 + 0.5) / sqrt(axis_sd**2 + 1.0 / 12.0 + 1.0))
        tight = ndtr(-(2.5 + tight_give / 2.0) / sqrt(axis_sd**2 + tight_give**2 / 12.0 + 1.0))
        return float(loose - tight)

    def fits(width_sd: float, *, length_sd: float) -> float:
        return accepted(width_sd, tight_give=1.0) * accepted(length_sd, tight_give=0.0)

    lost = fits(0.0, length_sd=0.0) - fits(sd[0], length_sd=sd[1])
    assert doubt(hoof(120.0, 124.0, sd=sd)) == pytest.approx(0.25 * lost, abs=1e-4)


@bounded
@given(estimate=mixtures())
def test_the_doubt_is_a_share_of_a_chance(estimate: Estimate) -> None:
    assert LEAST_BAND <= doubt(estimate) <= 0.25


def test_a_hoof_known_better_leaves_less_in_doubt() -> None:
    doubts = [doubt(hoof(120.0, 124.0, sd=sd)) for sd in (0.5, 1.0, 2.0, 4.0)]
    assert doubts == sorted(doubts)
    assert doubts[0] < doubts[-1]
    assert doubt(known(120.0, 124.0)) == LEAST_BAND


def test_doubts_of_hooves_add_as_squares() -> None:
    assert doubt_of_all([0.3, 0.4]) == pytest.approx(0.5)
    assert doubt_of_all([0.1]) == pytest.approx(0.1)
