"""Comparisons within one horse: their false-alarm rate by simulation, and what they must find."""

from dataclasses import replace

import numpy as np
import pytest

from hooflast.fit.comparing import (
    FALSE_ALARMS,
    FORE_HIND_SPREAD_MM,
    Comparison,
    Finding,
    compare_readings,
    distance_from_kind,
    likeness_limit,
)
from hooflast.fit.girth import SINGLE_HORSE_SPREAD, WIDTH_SHARE, Build, width_from_girth
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.population import population
from hooflast.fit.remark import Severity
from hooflast.fit.slip import SlipKind, likely_slip
from hooflast.fit.uncertainty import METHOD_BIAS_SD_MM, METHOD_SD_MM


def read(
    limb: Limb, width: float, *, length: float, method: Method = Method.CALLIPER, resolution: float = 1e-6
) -> HoofReading:
    return HoofReading(
        limb=limb,
        width=AxisReading(values_mm=(width,), resolution_mm=resolution),
        length=AxisReading(values_mm=(length,), resolution_mm=resolution),
        method=method,
        observer=Observer.PROFESSIONAL,
    )


def four(method: Method = Method.CALLIPER, **changed: tuple[float, float]) -> list[HoofReading]:
    usual = {"LF": (130.0, 129.0), "RF": (130.0, 129.0), "LH": (125.0, 128.0), "RH": (125.0, 128.0)} | changed
    return [read(Limb(limb), width, length=length, method=method) for limb, (width, length) in usual.items()]


def found(readings: list[HoofReading], *, finding: Finding) -> list[Comparison]:
    compared = compare_readings(readings, animal_type=AnimalType.HORSE)
    return [one for one in compared if one.finding is finding]


@pytest.mark.parametrize("method", [Method.CALLIPER, Method.TAPE])
def test_of_sound_horses_no_more_than_the_stated_share_is_told_anything(method: Method) -> None:
    """Simulated: left equals right, fore and hind differ as their kind does, each read once with the method's error."""
    rng = np.random.default_rng(20)
    horses, alarmed = 1500, 0
    fore_kind, hind_kind = (population(AnimalType.HORSE, limb=limb) for limb in (Limb.LF, Limb.LH))
    for _ in range(horses):
        fore = rng.multivariate_normal(fore_kind.mean, fore_kind.covariance)
        hind = fore + (hind_kind.mean - fore_kind.mean) + rng.normal(0.0, FORE_HIND_SPREAD_MM, 2)
        bias = rng.normal(0.0, METHOD_BIAS_SD_MM[method])
        readings = []
        for limb, true in ((Limb.LF, fore), (Limb.RF, fore), (Limb.LH, hind), (Limb.RH, hind)):
            width, length = rng.normal(true + bias, METHOD_SD_MM[method])
            readings.append(read(limb, float(width), length=float(length), method=method))
        alarmed += bool(compare_readings(readings, animal_type=AnimalType.HORSE))
    assert alarmed / horses <= FALSE_ALARMS + 3 * np.sqrt(FALSE_ALARMS * (1 - FALSE_ALARMS) / horses)


def test_a_usual_horse_is_told_nothing() -> None:
    assert compare_readings(four(), animal_type=AnimalType.HORSE) == ()


@pytest.mark.parametrize(
    ("difference", "severity"), [(7.0, Severity.LOOK_AGAIN), (10.0, Severity.LOOK_AGAIN), (5.0, Severity.NOTE)]
)
def test_a_pair_that_differs_is_told_by_how_much_it_matters(difference: float, severity: Severity) -> None:
    """Practice in farriery, no source: 1/8, 1/4 and 3/8 inch."""
    (one,) = found(four(LF=(130.0 + difference, 129.0)), finding=Finding.LEFT_RIGHT)
    assert one.severity is severity
    assert one.axis is Axis.WIDTH
    assert one.difference_mm == pytest.approx(difference)


def test_a_small_difference_is_never_told_however_sure_the_reading() -> None:
    sure = [
        replace(reading, width=replace(reading.width, values_mm=reading.width.values_mm * 50))
        for reading in four(LF=(132.5, 129.0))
    ]
    assert not found(sure, finding=Finding.LEFT_RIGHT)


def test_the_bias_of_one_person_cancels_between_left_and_right() -> None:
    """A difference found between two readings of one person may not stand out between two persons' readings."""
    pair = [
        read(Limb.LF, 132.4, length=129.0, method=Method.TAPE),
        read(Limb.RF, 125.0, length=129.0, method=Method.TAPE),
    ]
    other = [pair[0], replace(pair[1], observer=Observer.OWNER)]
    assert found(pair, finding=Finding.LEFT_RIGHT)
    assert not found(other, finding=Finding.LEFT_RIGHT)


def test_what_left_and_right_are_told_is_by_hand() -> None:
    """Each read once by calliper, σ = 1; the bias cancels, so they differ by √2 of chance."""
    (one,) = found(four(RF=(130.0, 139.5)), finding=Finding.LEFT_RIGHT)
    assert (one.limb, one.other, one.axis) == (Limb.LF, Limb.RF, Axis.LENGTH)
    assert one.z == pytest.approx(-10.5 / np.sqrt(2.0))


@pytest.mark.parametrize(("difference", "severity"), [(6.5, Severity.LOOK_AGAIN), (6.0, Severity.NOTE)])
def test_a_difference_of_just_a_quarter_inch_asks_to_look_again(difference: float, severity: Severity) -> None:
    (one,) = found(four(LF=(130.0 + difference, 129.0)), finding=Finding.LEFT_RIGHT)
    assert one.severity is severity


def test_left_and_right_change_sides_and_sign_only() -> None:
    (one,) = found(four(LF=(138.0, 129.0)), finding=Finding.LEFT_RIGHT)
    (other,) = found(four(RF=(138.0, 129.0)), finding=Finding.LEFT_RIGHT)
    assert one.difference_mm == -other.difference_mm
    assert one.severity is other.severity


def test_a_hind_slightly_larger_than_the_fore_is_not_told() -> None:
    """Fores are usually larger, yet a slightly larger hind occurs in sound horses (Sahel J Vet Sci 2024;21:35)."""
    assert not found(four(LH=(132.0, 131.0), RH=(132.0, 131.0)), finding=Finding.FORE_HIND)


def test_a_hind_far_larger_than_the_fore_is_told() -> None:
    told = found(four(LH=(146.0, 128.0), RH=(146.0, 128.0)), finding=Finding.FORE_HIND)
    assert {(one.limb, one.other) for one in told} == {(Limb.LF, Limb.LH), (Limb.RF, Limb.RH)}
    assert all(one.difference_mm < 0.0 for one in told)


def test_what_fore_and_hind_are_told_is_by_hand() -> None:
    """Two hooves are enough. A horse's fore is 5 wider than its hind; here it is 21 narrower: 26 off, of √(2 + 4²)."""
    (one,) = found([read(Limb.LF, 130.0, length=129.0), read(Limb.LH, 151.0, length=128.0)], finding=Finding.FORE_HIND)
    assert (one.limb, one.other, one.axis) == (Limb.LF, Limb.LH, Axis.WIDTH)
    assert one.severity is Severity.LOOK_AGAIN
    assert one.difference_mm == pytest.approx(-26.0)
    assert one.z == pytest.approx(-26.0 / np.sqrt(2.0 + FORE_HIND_SPREAD_MM**2))


def test_what_a_hoof_unlike_its_kind_is_told_is_the_dimension_that_is_further_off() -> None:
    reading = read(Limb.LF, 132.0, length=180.0)
    (one,) = compare_readings([reading], animal_type=AnimalType.HORSE)
    assert one.finding is Finding.UNLIKE_ITS_KIND
    assert (one.limb, one.other, one.axis, one.severity) == (Limb.LF, None, None, Severity.LOOK_AGAIN)
    assert one.difference_mm == pytest.approx(51.0)
    assert one.z == pytest.approx(np.sqrt(distance_from_kind(reading, animal_type=AnimalType.HORSE)))


@pytest.mark.parametrize("level", [0.01, 0.05, 0.5])
def test_the_distance_from_its_kind_is_chi_squared(level: float) -> None:
    rng = np.random.default_rng(3)
    kind = population(AnimalType.HORSE, limb=Limb.LF)
    hooves = rng.multivariate_normal(kind.mean, kind.covariance, size=4000)
    read_as = hooves + rng.normal(0.0, 0.5, (4000, 1)) + rng.normal(0.0, 1.0, (4000, 2))
    distances = [
        distance_from_kind(read(Limb.LF, float(width), length=float(length)), animal_type=AnimalType.HORSE)
        for width, length in read_as
    ]
    assert np.mean(np.array(distances) > likeness_limit(level)) == pytest.approx(level, abs=3 * np.sqrt(level / 4000))


class TestSlips:
    """The one change that makes an unlikely reading ordinary."""

    @pytest.mark.parametrize(
        ("animal", "seen", "kind", "axis", "meant"),
        [
            (AnimalType.DONKEY, (101.0, 87.0), SlipKind.WIDTH_FOR_LENGTH, None, (87.0, 101.0)),
            (AnimalType.HORSE, (131.0, 158.0), SlipKind.RULER_MISREAD, Axis.LENGTH, (131.0, 132.6)),
            (AnimalType.HORSE, (158.0, 131.0), SlipKind.RULER_MISREAD, Axis.WIDTH, (132.6, 131.0)),
            (AnimalType.HORSE, (105.0, 129.0), SlipKind.RULER_MISREAD, Axis.WIDTH, (130.4, 129.0)),
            (AnimalType.HORSE, (129.0, 182.0), SlipKind.DIGITS_TRANSPOSED, Axis.LENGTH, (129.0, 128.0)),
            (AnimalType.HORSE, (182.0, 129.0), SlipKind.DIGITS_TRANSPOSED, Axis.WIDTH, (128.0, 129.0)),
            (AnimalType.HORSE, (214.0, 123.0), SlipKind.DIGITS_TRANSPOSED, Axis.WIDTH, (124.0, 123.0)),
            (AnimalType.DRAFT, (172.0, 116.0), SlipKind.DIGITS_TRANSPOSED, Axis.LENGTH, (172.0, 161.0)),
        ],
    )
    def test_the_slip_is_named_with_what_was_meant(
        self,
        animal: AnimalType,
        seen: tuple[float, float],
        kind: SlipKind,
        axis: Axis | None,
        meant: tuple[float, float],
    ) -> None:
        slip = likely_slip(read(Limb.LF, seen[0], length=seen[1]), animal_type=animal)
        assert slip is not None
        assert (slip.kind, slip.axis) == (kind, axis)
        assert (slip.changed.width.mean_mm, slip.changed.length.mean_mm) == pytest.approx(meant)

    def test_a_slip_brings_the_reading_nearer_to_its_kind(self) -> None:
        reading = read(Limb.LF, 101.0, length=87.0)
        slip = likely_slip(reading, animal_type=AnimalType.DONKEY)
        assert slip is not None
        assert slip.distance < distance_from_kind(reading, animal_type=AnimalType.DONKEY)
        assert slip.changed.width.mean_mm == 87.0

    def test_what_no_single_change_explains_is_left_open(self) -> None:
        assert likely_slip(read(Limb.LF, 60.0, length=62.0), animal_type=AnimalType.DRAFT) is None


class TestGirth:
    """Animal Science Papers and Reports 2011;29:213: fore hoof width as a share of chest girth, 77 mares."""

    @pytest.mark.parametrize(
        ("build", "share"),
        [(Build.ARABIAN, 0.0593), (Build.ANGLO_ARABIAN, 0.0641), (Build.KONIK, 0.0656), (Build.COLDBLOOD, 0.0726)],
    )
    def test_the_published_shares_come_back(self, build: Build, share: float) -> None:
        expected = width_from_girth(1800.0, build=build)
        assert expected.mean_mm == pytest.approx(share * 1800.0)
        assert expected.sd_mm == pytest.approx(SINGLE_HORSE_SPREAD * expected.mean_mm)

    def test_a_build_not_told_is_less_certain_than_any_that_is(self) -> None:
        unknown = width_from_girth(1800.0)
        assert all(width_from_girth(1800.0, build=build).sd_mm < unknown.sd_mm for build in Build)
        assert min(WIDTH_SHARE.values()) < unknown.mean_mm / 1800.0 < max(WIDTH_SHARE.values())

    def test_what_a_build_not_told_leaves_open_is_the_spread_between_the_builds(self) -> None:
        shares = np.array([0.0593, 0.0641, 0.0656, 0.0726])
        unknown = width_from_girth(1800.0)
        assert unknown.mean_mm == pytest.approx(shares.mean() * 1800.0)
        assert unknown.sd_mm == pytest.approx(np.hypot(SINGLE_HORSE_SPREAD * shares.mean(), shares.std()) * 1800.0)

    def test_more_girth_never_expects_less_hoof(self) -> None:
        widths = [width_from_girth(girth).mean_mm for girth in (1000.0, 1500.0, 2000.0, 2400.0)]
        assert widths == sorted(widths)
