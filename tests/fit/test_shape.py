"""Shape classes: chances that agree with simulation and with published groups."""

import numpy as np
import pytest
from hypothesis import given, settings
from tests.fit.strategies import hoof, mixture, mixtures

from hooflast.fit.boot import ShapeClass
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.population import population
from hooflast.fit.shape import FORE_CUTS, HIND_CUTS, hoof_shape


def read(limb: Limb, *, width: float, length: float) -> HoofReading:
    return HoofReading(
        limb=limb,
        width=AxisReading(values_mm=(width,)),
        length=AxisReading(values_mm=(length,)),
        method=Method.CALLIPER,
        observer=Observer.PROFESSIONAL,
    )


@settings(max_examples=25, deadline=None)
@given(mixtures())
def test_the_chances_agree_with_simulation(estimate: Estimate) -> None:
    rng = np.random.default_rng(7)
    parts = rng.choice(len(estimate.weights), size=40_000, p=estimate.weights / estimate.weights.sum())
    roots = np.linalg.cholesky(estimate.covariances)
    hooves = estimate.means[parts] + np.einsum("nij,nj->ni", roots[parts], rng.standard_normal((40_000, 2)))
    ratio = hooves[:, 0] / hooves[:, 1]
    chances = hoof_shape(estimate, limb=Limb.LF).chances
    assert chances[ShapeClass.NARROW] == pytest.approx(np.mean(ratio < FORE_CUTS[0]), abs=0.015)
    assert chances[ShapeClass.WIDE] == pytest.approx(np.mean(ratio > FORE_CUTS[1]), abs=0.015)
    assert sum(chances.values()) == pytest.approx(1.0, abs=1e-12)


def test_the_ratio_is_that_of_the_mean() -> None:
    estimate = mixture([hoof(120.0, 100.0), hoof(132.0, 110.0)], weights=[1.0, 1.0])
    assert hoof_shape(estimate, limb=Limb.LF).ratio == pytest.approx(126.0 / 105.0)


def test_no_chance_is_below_nothing_where_weights_add_up_to_a_little_more_than_one() -> None:
    narrow = hoof(80.0, 160.0)
    estimate = Estimate(
        weights=np.array([0.5, 0.5 + 2.0**-52]),
        means=np.concatenate([narrow.means, narrow.means]),
        covariances=np.concatenate([narrow.covariances, narrow.covariances]),
    )
    assert estimate.weights.sum() > 1.0
    assert hoof_shape(estimate, limb=Limb.LF).chances == {
        ShapeClass.NARROW: 1.0,
        ShapeClass.ROUND: 0.0,
        ShapeClass.WIDE: 0.0,
    }


@pytest.mark.parametrize(("limb", "cuts"), [(Limb.LF, FORE_CUTS), (Limb.RH, HIND_CUTS)])
def test_the_cuts_take_about_a_fifth_of_the_horses_on_either_side(limb: Limb, cuts: tuple[float, float]) -> None:
    """Our convention: the classes are population quantiles, the outer fifths of the horse prior."""
    kind = population(AnimalType.HORSE, limb=limb)
    whole = Estimate(weights=np.ones(1), means=kind.mean[None], covariances=kind.covariance[None])
    chances = hoof_shape(whole, limb=limb).chances
    assert chances[ShapeClass.NARROW] == pytest.approx(0.2, abs=0.05)
    assert chances[ShapeClass.WIDE] == pytest.approx(0.2, abs=0.05)


def test_young_heavy_horses_have_wide_fores_and_round_hinds() -> None:
    """J Equine Vet Sci 2012;32:231: width / length averaged about 1.08 fore and 1.00 hind."""
    fore = read(Limb.LF, width=172.8, length=160.0)
    hind = read(Limb.LH, width=160.0, length=160.0)
    assert hoof_shape(estimate_hoof(fore, animal_type=AnimalType.DRAFT), limb=Limb.LF).likeliest is ShapeClass.WIDE
    assert hoof_shape(estimate_hoof(hind, animal_type=AnimalType.DRAFT), limb=Limb.LH).likeliest is ShapeClass.ROUND


def test_one_hoof_is_judged_wider_as_a_hind_than_as_a_fore() -> None:
    """Common practice, no source: hinds are narrower, so the same proportion is wider for a hind."""
    reading = read(Limb.LF, width=132.0, length=128.0)
    estimate = estimate_hoof(reading, animal_type=AnimalType.HORSE)
    as_fore = hoof_shape(estimate, limb=Limb.LF).chances[ShapeClass.WIDE]
    as_hind = hoof_shape(estimate, limb=Limb.LH).chances[ShapeClass.WIDE]
    assert as_hind > as_fore


def test_a_donkeys_usual_hoof_is_narrow() -> None:
    """Common practice, no source: donkeys have narrow, upright hooves."""
    usual = population(AnimalType.DONKEY, limb=Limb.LF).mean
    reading = read(Limb.LF, width=float(usual[0]), length=float(usual[1]))
    shape = hoof_shape(estimate_hoof(reading, animal_type=AnimalType.DONKEY), limb=Limb.LF)
    assert shape.likeliest is ShapeClass.NARROW
