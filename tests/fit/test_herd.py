"""Herds: drawn horses that are like their kind, and the chances of many sizes on many hooves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.comparing import FORE_HIND_SPREAD_MM
from hooflast.fit.estimate import Estimate
from hooflast.fit.herd import Herd, HerdHoof, Kind, drawn_herd, kind_herd, kind_hoof
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.serving import NEGLIGIBLE, serving_chances
from hooflast.fit.sizes import BootChart, size_table

from .strategies import animal_types, bounded, charts, hoof, limbs, mixtures, single

HORSE = Kind(animal_type=AnimalType.HORSE)


def means(herd: Herd, *, limb: Limb) -> Floats:
    return np.array([one.estimate.means[0] for one in herd.hooves if one.limb is limb])


@bounded
@given(animal_types, limbs)
def test_a_kind_without_means_of_its_own_is_its_animal_type(animal_type: AnimalType, limb: Limb) -> None:
    own, usual = kind_hoof(Kind(animal_type=animal_type), limb=limb), population(animal_type, limb=limb)
    assert own.mean == pytest.approx(usual.mean)
    assert own.covariance == pytest.approx(usual.covariance)


def test_a_breeds_means_are_its_own_and_its_spread_is_of_size() -> None:
    breed = replace(HORSE, fore_mm=(120.0, 125.0), hind_mm=(110.0, 118.0), size_sd_mm=6.0)
    fore, hind = (kind_hoof(breed, limb=limb) for limb in (Limb.RF, Limb.RH))
    assert fore.mean.tolist() == [120.0, 125.0]
    assert hind.mean.tolist() == [110.0, 118.0]
    for one in (fore, hind):
        assert np.array([0.5, 0.5]) @ one.covariance @ np.array([0.5, 0.5]) == pytest.approx(36.0)


@pytest.mark.parametrize(("known", "asked"), [(Limb.LF, Limb.LH), (Limb.LH, Limb.LF)])
def test_where_one_end_is_given_the_other_keeps_the_usual_proportion(known: Limb, asked: Limb) -> None:
    given_mm = (100.0, 110.0)
    breed = replace(HORSE, fore_mm=given_mm) if known.is_fore else replace(HORSE, hind_mm=given_mm)
    usual = [population(AnimalType.HORSE, limb=limb).mean for limb in (known, asked)]
    assert kind_hoof(breed, limb=asked).mean / np.array(given_mm) == pytest.approx(usual[1] / usual[0])


@pytest.mark.parametrize("limb", [Limb.LF, Limb.LH])
def test_drawn_hooves_are_as_their_kind(limb: Limb) -> None:
    kind = kind_hoof(HORSE, limb=limb)
    drawn = means(drawn_herd([HORSE], horses_per_kind=2048), limb=limb)
    assert drawn.mean(axis=0) == pytest.approx(kind.mean, abs=0.1)
    assert np.cov(drawn.T) == pytest.approx(kind.covariance, rel=0.02)


def test_fore_and_hind_of_one_drawn_horse_differ_as_those_of_sound_horses_do() -> None:
    herd = drawn_herd([HORSE], horses_per_kind=2048)
    apart = means(herd, limb=Limb.LF) - means(herd, limb=Limb.LH)
    usual = population(AnimalType.HORSE, limb=Limb.LF).mean - population(AnimalType.HORSE, limb=Limb.LH).mean
    assert apart.mean(axis=0) == pytest.approx(usual, abs=0.1)
    assert apart[:, 0].std() == pytest.approx(FORE_HIND_SPREAD_MM, rel=0.1)


def test_a_kind_hardly_spread_at_all_is_still_drawn() -> None:
    herd = drawn_herd([replace(HORSE, size_sd_mm=0.01)], horses_per_kind=8)
    assert np.isfinite(means(herd, limb=Limb.LH)).all()


def test_the_same_kinds_give_the_same_hooves_and_another_seed_gives_others() -> None:
    first, again, other = (means(drawn_herd([HORSE], seed=seed), limb=Limb.LF) for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_kinds_count_by_their_weight_and_each_horse_has_a_fore_and_a_hind_hoof() -> None:
    kinds = [replace(HORSE, weight=3.0), Kind(animal_type=AnimalType.PONY)]
    for herd, horses in ((drawn_herd(kinds, horses_per_kind=16), 32), (kind_herd(kinds), 2)):
        weights = dict.fromkeys(AnimalType, 0.0)
        for one, weight in zip(herd.hooves, herd.hoof_weights, strict=True):
            weights[one.animal_type] += weight
        assert weights[AnimalType.HORSE] == pytest.approx(0.75)
        assert weights[AnimalType.PONY] == pytest.approx(0.25)
        assert len(herd.horse_weights) == horses
        assert {horse: {one.limb for one in herd.hooves if one.horse == horse} for horse in range(horses)} == {
            horse: {Limb.LF, Limb.LH} for horse in range(horses)
        }


def test_kinds_as_they_are_have_hooves_as_their_kind() -> None:
    for one in kind_herd([HORSE]).hooves:
        usual = population(AnimalType.HORSE, limb=one.limb)
        assert one.estimate.mean == pytest.approx(usual.mean)
        assert one.estimate.covariance == pytest.approx(usual.covariance)


def test_a_drawn_hoof_is_known_exactly() -> None:
    for one in drawn_herd([HORSE], horses_per_kind=2).hooves:
        assert one.estimate.covariance.tolist() == [[0.0, 0.0], [0.0, 0.0]]


def test_a_hoof_of_a_heavier_horse_counts_more() -> None:
    one = HerdHoof(horse=0, animal_type=AnimalType.HORSE, limb=Limb.LF, estimate=hoof(120.0, 120.0))
    herd = Herd(hooves=(one, one, replace(one, horse=1)), horse_weights=np.array([1.0, 2.0]))
    assert herd.hoof_weights.tolist() == [0.25, 0.25, 0.5]


@bounded
@given(st.lists(mixtures(), min_size=1, max_size=4), st.lists(charts(complete=True), min_size=1, max_size=3))
def test_serving_chances_are_the_fit_chances_of_each_hoof(estimates: list[Estimate], drawn: list[BootChart]) -> None:
    table = size_table(drawn)
    found = serving_chances(estimates, table)
    for row, estimate in zip(found, estimates, strict=True):
        corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        assert row == pytest.approx(expected_worth(corners, steps=ACCEPTED), abs=4 * NEGLIGIBLE)


def test_an_axis_that_a_chart_leaves_out_counts_half() -> None:
    table = size_table(
        [single((110.0, 130.0), None), single(None, (110.0, 130.0)), single((110.0, 130.0), (110.0, 130.0))]
    )
    assert serving_chances([hoof(120.0, 120.0)], table)[0] == pytest.approx([0.5, 0.5, 1.0], abs=1e-3)


def test_many_hooves_at_once_are_as_each_by_itself() -> None:
    table = size_table([single((110.0, 125.0), (112.0, 128.0))])
    estimates = [hoof(90.0 + place / 10, 100.0 + place / 12, sd=2.0) for place in range(600)]
    together = serving_chances(estimates, table)
    apart = np.concatenate([serving_chances([estimates[place]], table) for place in (0, 255, 256, 599)])
    assert together[[0, 255, 256, 599]] == pytest.approx(apart)


def test_a_hoof_known_exactly_is_served_by_the_step_alone() -> None:
    (one,) = drawn_herd([replace(HORSE, size_sd_mm=0.001)], horses_per_kind=1).hooves[:1]
    table = size_table([single((115.0, 145.0), (115.0, 145.0)), single((60.0, 70.0), (60.0, 70.0))])
    assert serving_chances([one.estimate], table)[0] == pytest.approx([1.0, 0.0], abs=1e-6)
