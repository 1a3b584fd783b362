"""Pad: lifting never widens the room, straight walls lose none, and every number by hand or by simulation."""

from dataclasses import replace
from math import radians, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.pad import (
    COMPRESSED,
    THICKNESS_SHARE,
    USUAL_WALLS,
    WIDEST_AT,
    About,
    Pad,
    PadKind,
    RoomLost,
    Softness,
    Walls,
    room_lost,
)

from .strategies import bounded, hoof

NOT_AT_ALL = About(middle=0.0)
EXACT_WALLS = Walls(medial_deg=About(middle=77.0), lateral_deg=About(middle=77.0), toe_deg=About(middle=60.0))

thicknesses = st.floats(0.0, 25.0)
kinds = st.sampled_from(PadKind)
angles = st.builds(About, middle=st.floats(45.0, 90.0), give_or_take=st.floats(0.0, 10.0))
leaning = st.builds(Walls, medial_deg=angles, lateral_deg=angles, toe_deg=angles, heel_deg=st.none() | angles)
shares = st.builds(About, middle=st.floats(0.0, 0.6), give_or_take=st.floats(0.0, 0.2))
lengths = st.floats(80.0, 200.0)
pads = st.builds(Pad, thickness_mm=thicknesses, kind=kinds, toe_mm=thicknesses, compressed=shares)


def lost(pad: Pad, *, walls: Walls = USUAL_WALLS, hoof_length_mm: float = 130.0) -> RoomLost:
    return room_lost(pad, hoof_length_mm=hoof_length_mm, walls=walls)


class TestByHand:
    """Worked cases: cot 77° = 0.23087, cot 60° = 0.57735."""

    def test_six_millimetres_between_walls_at_77_degrees_cost_2_77(self) -> None:
        found = lost(Pad(thickness_mm=6.0, compressed=NOT_AT_ALL), walls=EXACT_WALLS)
        assert found.mean_mm == pytest.approx([2.770, 3.464], abs=5e-4)

    def test_a_pad_pressed_to_half_costs_half(self) -> None:
        found = lost(Pad(thickness_mm=6.0, compressed=About(middle=0.5)), walls=EXACT_WALLS)
        assert found.mean_mm == pytest.approx([1.385, 1.732], abs=5e-4)
        assert (found.toe_lift_mm, found.heel_lift_mm, found.tilt_deg) == (3.0, 3.0, 0.0)

    def test_medial_and_lateral_wall_each_cost_by_their_own_angle(self) -> None:
        walls = replace(EXACT_WALLS, medial_deg=About(middle=45.0), lateral_deg=About(middle=90.0))
        assert lost(Pad(thickness_mm=6.0, compressed=NOT_AT_ALL), walls=walls).mean_mm[0] == pytest.approx(6.0)

    def test_a_stiff_heel_wall_that_leans_back_gives_room(self) -> None:
        walls = replace(EXACT_WALLS, heel_deg=About(middle=45.0))
        found = lost(Pad(thickness_mm=6.0, compressed=NOT_AT_ALL), walls=walls)
        assert found.mean_mm[1] == pytest.approx(3.4641 - 6.0, abs=1e-4)

    def test_a_wedge_costs_width_by_its_height_at_the_widest_point_and_nothing_at_the_toe(self) -> None:
        wedge = Pad(thickness_mm=12.0, kind=PadKind.WEDGE, compressed=NOT_AT_ALL)
        found = lost(wedge, walls=EXACT_WALLS, hoof_length_mm=130.0)
        assert found.mean_mm == pytest.approx([2.770, -(130.0 - np.sqrt(130.0**2 - 144.0))], abs=5e-4)
        assert (found.toe_lift_mm, found.heel_lift_mm) == (0.0, 12.0)
        assert found.tilt_deg == pytest.approx(5.296, abs=1e-3)

    def test_a_wedge_that_is_not_thin_at_the_toe_costs_there_too(self) -> None:
        wedge = Pad(thickness_mm=12.0, kind=PadKind.WEDGE, toe_mm=6.0, compressed=NOT_AT_ALL)
        found = lost(wedge, walls=EXACT_WALLS, hoof_length_mm=130.0)
        assert found.mean_mm == pytest.approx(
            [9.0 * 2 / tan(radians(77.0)), 6.0 / tan(radians(60.0)) - (130.0 - np.sqrt(130.0**2 - 36.0))]
        )

    def test_what_is_not_known_exactly_adds_up_as_variances_by_hand(self) -> None:
        """q = 0.8 ± 0.1, the walls' cotangents 1 ± 2·π/180·5 at 45°: all rectangular, so over √3."""
        walls = Walls(
            medial_deg=About(middle=45.0, give_or_take=5.0),
            lateral_deg=About(middle=45.0, give_or_take=5.0),
            toe_deg=About(middle=45.0, give_or_take=5.0),
        )
        share = np.sqrt(0.1**2 - (THICKNESS_SHARE * 0.8) ** 2)
        found = lost(Pad(thickness_mm=10.0, compressed=About(middle=0.2, give_or_take=share)), walls=walls)
        kept, leaning = 0.1**2 / 3.0, np.radians(10.0) ** 2 / 3.0
        assert found.mean_mm == pytest.approx([16.0, 8.0])
        assert found.covariance == pytest.approx(
            np.array(
                [
                    [400.0 * kept + 2.0 * 64.0 * leaning, 200.0 * kept],
                    [200.0 * kept, 100.0 * kept + 64.0 * leaning],
                ]
            )
        )


class TestProperties:
    """What holds for every pad and every wall that does not lean out."""

    @bounded
    @given(pads, leaning, lengths, st.floats(0.0, 10.0))
    def test_a_thicker_pad_never_widens_the_room(self, pad: Pad, walls: Walls, length: float, more: float) -> None:
        thicker = replace(pad, thickness_mm=pad.thickness_mm + more)
        one, other = (lost(each, walls=walls, hoof_length_mm=length) for each in (pad, thicker))
        assert other.mean_mm[0] >= one.mean_mm[0] - 1e-9

    @bounded
    @given(thicknesses, leaning, st.floats(0.0, 10.0))
    def test_a_thicker_full_pad_never_lengthens_the_room_before_a_heel_that_yields(
        self, thickness: float, walls: Walls, more: float
    ) -> None:
        yielding = replace(walls, heel_deg=None)
        one, other = (lost(Pad(thickness_mm=each), walls=yielding) for each in (thickness, thickness + more))
        assert other.mean_mm[1] >= one.mean_mm[1] - 1e-9

    @bounded
    @given(thicknesses, lengths, st.floats(0.0, 0.6))
    def test_upright_walls_lose_nothing(self, thickness: float, length: float, share: float) -> None:
        upright = About(middle=90.0)
        walls = Walls(medial_deg=upright, lateral_deg=upright, toe_deg=upright, heel_deg=upright)
        found = lost(Pad(thickness_mm=thickness, compressed=About(middle=share)), walls=walls, hoof_length_mm=length)
        assert found.mean_mm == pytest.approx([0.0, 0.0], abs=1e-9)
        assert found.covariance == pytest.approx(np.zeros((2, 2)), abs=1e-9)

    @bounded
    @given(pads, leaning, st.floats(0.0, 0.4))
    def test_a_pad_that_gives_way_takes_no_more_width(self, pad: Pad, walls: Walls, more: float) -> None:
        softer = replace(pad, compressed=replace(pad.compressed, middle=pad.compressed.middle + more))
        one, other = (lost(each, walls=walls).mean_mm[0] for each in (pad, softer))
        assert other <= one + 1e-9

    @bounded
    @given(pads, leaning, lengths)
    def test_it_does_not_matter_which_side_is_which(self, pad: Pad, walls: Walls, length: float) -> None:
        other_way = replace(walls, medial_deg=walls.lateral_deg, lateral_deg=walls.medial_deg)
        one, other = (lost(pad, walls=each, hoof_length_mm=length) for each in (walls, other_way))
        assert other.mean_mm == pytest.approx(one.mean_mm)
        assert other.covariance == pytest.approx(one.covariance)

    @bounded
    @given(pads, leaning, lengths, st.floats(0.03, 30.0))
    def test_the_unit_does_not_matter(self, pad: Pad, walls: Walls, length: float, unit: float) -> None:
        scaled = replace(pad, thickness_mm=pad.thickness_mm * unit, toe_mm=pad.toe_mm * unit)
        one, other = (
            lost(pad, walls=walls, hoof_length_mm=length),
            lost(scaled, walls=walls, hoof_length_mm=length * unit),
        )
        assert other.mean_mm == pytest.approx(one.mean_mm * unit, abs=1e-9 * unit)
        assert other.covariance == pytest.approx(one.covariance * unit**2, abs=1e-9 * unit**2)
        assert other.heel_lift_mm == pytest.approx(one.heel_lift_mm * unit)
        assert other.toe_lift_mm == pytest.approx(one.toe_lift_mm * unit)
        assert other.tilt_deg == pytest.approx(one.tilt_deg)

    @bounded
    @given(thicknesses, shares, leaning, lengths)
    def test_a_wedge_as_thick_at_the_toe_is_a_full_pad(
        self, thickness: float, compressed: About, walls: Walls, length: float
    ) -> None:
        full = Pad(thickness_mm=thickness, compressed=compressed)
        wedge = replace(full, kind=PadKind.WEDGE, toe_mm=thickness)
        one, other = (lost(pad, walls=walls, hoof_length_mm=length) for pad in (full, wedge))
        assert other.mean_mm.tolist() == one.mean_mm.tolist()
        assert other.covariance.tolist() == one.covariance.tolist()

    @bounded
    @given(pads, leaning, lengths)
    def test_a_pad_inside_the_wall_lifts_nothing(self, pad: Pad, walls: Walls, length: float) -> None:
        found = lost(replace(pad, kind=PadKind.PARTIAL), walls=walls, hoof_length_mm=length)
        assert not found.mean_mm.any()
        assert not found.covariance.any()
        assert (found.toe_lift_mm, found.heel_lift_mm, found.tilt_deg) == (0.0, 0.0, 0.0)

    @bounded
    @given(pads, leaning, lengths)
    def test_what_is_not_known_is_a_covariance(self, pad: Pad, walls: Walls, length: float) -> None:
        covariance = lost(pad, walls=walls, hoof_length_mm=length).covariance
        assert covariance == pytest.approx(covariance.T)
        assert np.linalg.eigvalsh(covariance).min() >= -1e-9

    def test_the_softer_the_pad_the_more_it_gives_way(self) -> None:
        firm, medium, soft = (COMPRESSED[each].middle for each in (Softness.FIRM, Softness.MEDIUM, Softness.SOFT))
        assert firm < medium < soft

    def test_a_pad_of_unknown_softness_may_be_firm_or_soft(self) -> None:
        unknown, firm, soft = (COMPRESSED[each] for each in (Softness.UNKNOWN, Softness.FIRM, Softness.SOFT))
        assert unknown.middle - unknown.give_or_take <= firm.middle
        assert unknown.middle + unknown.give_or_take >= soft.middle - soft.give_or_take


def placed(pad: Pad, *, walls: Walls, length: float, rng: np.random.Generator, count: int) -> np.ndarray:
    """Room lost by setting hooves into boots point by point: the boot's inner width at a height, the toe and heel where
    the tilted sole stands. No formula of `pad` is used."""

    def anywhere(one: About) -> np.ndarray:
        return rng.uniform(one.middle - one.give_or_take, one.middle + one.give_or_take, count)

    kept = (1.0 - anywhere(pad.compressed)) * anywhere(About(middle=1.0, give_or_take=THICKNESS_SHARE))
    toe_z, heel_z = kept * pad.toe_mm, kept * pad.thickness_mm
    widest_z = toe_z + (heel_z - toe_z) * anywhere(WIDEST_AT)
    medial, lateral, toe, heel = (
        np.tan(np.radians(anywhere(one)))
        for one in (walls.medial_deg, walls.lateral_deg, walls.toe_deg, walls.heel_deg)
    )
    floor_mm = 150.0
    width_there = (floor_mm - widest_z / lateral) - widest_z / medial
    tilt = np.arcsin((heel_z - toe_z) / length)
    toe_wall_x, heel_wall_x = toe_z / toe, floor_mm + heel_z / heel
    room_there = heel_wall_x - toe_wall_x - length * np.cos(tilt)
    return np.stack([floor_mm - width_there, (floor_mm - length) - room_there], axis=-1)


@pytest.mark.parametrize("toe_mm", [0.0, 4.0, 10.0])
def test_mean_and_covariance_are_those_of_hooves_set_into_boots(toe_mm: float) -> None:
    pad = Pad(thickness_mm=10.0, kind=PadKind.WEDGE, toe_mm=toe_mm, compressed=About(middle=0.2, give_or_take=0.1))
    walls = replace(USUAL_WALLS, heel_deg=About(middle=70.0, give_or_take=5.0))
    drawn = placed(pad, walls=walls, length=120.0, rng=np.random.default_rng(7), count=200_000)
    found = lost(pad, walls=walls, hoof_length_mm=120.0)
    assert found.mean_mm == pytest.approx(drawn.mean(axis=0), abs=0.02)
    assert found.covariance == pytest.approx(np.cov(drawn.T), rel=0.06, abs=0.003)


def test_the_hoof_as_the_padded_boot_sees_it_is_larger_and_less_certain() -> None:
    bare, room = hoof(120.0, 122.0, sd=2.0), lost(Pad(thickness_mm=8.0))
    padded = bare.changed(by_mm=room.mean_mm, covariance=room.covariance)
    assert padded.mean == pytest.approx(bare.mean + room.mean_mm)
    assert padded.covariance == pytest.approx(bare.covariance + room.covariance)
    assert np.all(padded.mean > bare.mean)
