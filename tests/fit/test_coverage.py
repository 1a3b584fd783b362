"""Coverage: shares on the plane held against closed forms, and gaps that lie where they were left."""

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import ShapeClass
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.coverage import (
    LEAST_GAP,
    LEAST_SD_MM,
    PLANE_MM,
    PRESENT,
    Coverage,
    coverage,
    fewest_points,
    gaps,
    plane_acceptance,
    plane_mass,
    regions,
    shares_by_shape,
)
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import BootChart, SizeTable, size_table

from .strategies import bounded, charts, hoof, known, ladder, mixtures, normals, single

THRESHOLD = 0.5


def covered(estimates: list[Estimate], table: SizeTable, *, threshold: float = THRESHOLD) -> Coverage:
    shares = np.full(len(estimates), 1.0 / len(estimates))
    return coverage(estimates, table, weights=shares, threshold=threshold)


@bounded
@given(st.lists(mixtures(), min_size=1, max_size=3))
def test_the_mass_of_a_herd_is_one_and_lies_at_its_mean(estimates: list[Estimate]) -> None:
    mass = plane_mass(estimates, weights=np.full(len(estimates), 1.0 / len(estimates)))
    assert mass.min() >= 0.0
    assert mass.sum() == pytest.approx(1.0)
    mean = np.mean([estimate.mean for estimate in estimates], axis=0)
    assert [mass.sum(axis=1) @ PLANE_MM, mass.sum(axis=0) @ PLANE_MM] == pytest.approx(mean, abs=0.15)


@bounded
@given(normals(least_sd=1.5), charts(complete=True))
def test_the_share_by_chance_of_one_size_is_its_fit_chance(estimate: Estimate, drawn: BootChart) -> None:
    one = BootChart(
        closure=drawn.closure,
        widths_mm=drawn.widths_mm[:1],
        lengths_mm=drawn.lengths_mm[:1],
        chart_step_mm=drawn.chart_step_mm,
    )
    table = size_table([one])
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    exact = float(expected_worth(corners, steps=ACCEPTED)[0])
    assert covered([estimate], table).by_chance == pytest.approx(exact, abs=0.02)


@bounded
@given(st.lists(charts(), min_size=1, max_size=3), charts(), normals(least_sd=1.0))
def test_another_size_never_covers_less(some: list[BootChart], more: BootChart, estimate: Estimate) -> None:
    fewer, all_of_them = (covered([estimate], size_table(drawn)) for drawn in (some, [*some, more]))
    assert np.all(all_of_them.accepted >= fewer.accepted)
    assert all_of_them.served >= fewer.served - 1e-12
    assert all_of_them.by_chance >= fewer.by_chance - 1e-12
    assert 0.0 <= all_of_them.by_chance <= 1.0 + 1e-9


@bounded
@given(st.lists(charts(), min_size=2, max_size=4))
def test_the_order_of_sizes_does_not_matter(drawn: list[BootChart]) -> None:
    assert np.array_equal(plane_acceptance(size_table(drawn)), plane_acceptance(size_table(drawn[::-1])))


def test_an_axis_that_a_chart_leaves_out_counts_half_everywhere() -> None:
    accepted = plane_acceptance(size_table([single((110.0, 130.0), None)]))
    assert accepted[int(120 - PLANE_MM[0])] == pytest.approx(0.5, abs=1e-3)
    assert accepted[int(150 - PLANE_MM[0])].max() < 1e-3


def test_a_herd_is_present_where_most_of_it_is() -> None:
    mass = plane_mass([hoof(120.0, 125.0, sd=5.0, correlation=0.6)], weights=np.ones(1))
    there = fewest_points(mass, share=PRESENT)
    assert PRESENT <= mass[there].sum() < PRESENT + 0.005
    assert mass[there].min() >= mass[~there].max()


def test_a_hoof_known_exactly_is_present_at_its_place() -> None:
    there = fewest_points(plane_mass([known(120.0, 125.0)], weights=np.ones(1)), share=PRESENT)
    assert there[100, 105]
    assert there.sum() <= 25


def test_a_hoof_known_exactly_is_spread_by_the_least() -> None:
    mass = plane_mass([known(120.3, 125.0)], weights=np.ones(1))
    for along, middle in ((mass.sum(axis=1), 120.3), (mass.sum(axis=0), 125.0)):
        assert along @ (PLANE_MM - middle) ** 2 == pytest.approx(LEAST_SD_MM**2, abs=0.03)


def test_hooves_weigh_what_they_are_given() -> None:
    mass = plane_mass([known(100.0, 100.0), known(140.0, 140.0)], weights=np.array([0.75, 0.25]))
    assert mass[PLANE_MM < 120.0].sum() == pytest.approx(0.75)
    with pytest.raises(ValueError, match="zip"):
        plane_mass([known(100.0, 100.0), known(140.0, 140.0)], weights=np.ones(1))


@pytest.mark.parametrize("mass", [np.full((3, 3), 1.0 / 9.0), np.full((2, 5), 0.1), np.array([[0.4, 0.3], [0.2, 0.1]])])
def test_the_whole_of_a_herd_is_on_every_point_it_is_on(mass: Floats) -> None:
    """Also where its shares add up to a little less than one."""
    assert fewest_points(mass, share=1.0).all()


def test_a_hoof_beyond_the_lattice_counts_for_nothing() -> None:
    near, far = hoof(120.0, 120.0), hoof(900.0, 900.0)
    mass = plane_mass([near, far], weights=np.array([0.5, 0.5]))
    assert mass == pytest.approx(plane_mass([near], weights=np.ones(1)))


def test_a_missing_size_is_a_gap_at_its_place_with_its_share() -> None:
    chart = ladder(first=(100.0, 104.0), count=8)
    left_out = BootChart(
        closure=chart.closure,
        widths_mm=[*chart.widths_mm[:4], *chart.widths_mm[5:]],
        lengths_mm=[*chart.lengths_mm[:4], *chart.lengths_mm[5:]],
    )
    herd = [hoof(102.0 + step, 106.0 + step, sd=0.8) for step in range(36)]
    whole, holed = covered(herd, size_table([chart])), covered(herd, size_table([left_out]))
    found = [gap for gap in gaps(holed, size_table([left_out]), is_fore=True) if gap.share > 0.05]
    assert len(found) == 1
    (gap,) = found
    assert [gap.width_mm, gap.length_mm] == pytest.approx([122.0, 126.0], abs=1.0)
    missed = whole.mass[gap.points & (whole.accepted >= THRESHOLD)].sum()
    assert missed == pytest.approx(whole.served - holed.served, abs=0.005)
    assert gap.share == pytest.approx(holed.mass[gap.points].sum())
    assert gap.shape is ShapeClass.ROUND
    assert gap.nearest in (3, 4)


@bounded
@given(st.lists(charts(), min_size=1, max_size=3), st.lists(normals(least_sd=1.0), min_size=1, max_size=3))
def test_gaps_are_apart_uncovered_and_together_no_more_than_what_is_not_served(
    drawn: list[BootChart], estimates: list[Estimate]
) -> None:
    table = size_table(drawn)
    one = covered(estimates, table)
    found = gaps(one, table, is_fore=False)
    shares = [gap.share for gap in found]
    assert shares == sorted(shares, reverse=True)
    assert all(share >= LEAST_GAP for share in shares)
    assert sum(shares) <= 1.0 - one.served + 1e-9
    assert np.sum([gap.points for gap in found], axis=0).max(initial=0) <= 1
    for gap in found:
        assert one.accepted[gap.points].max() < THRESHOLD
        assert one.present[gap.points].all()


def test_places_that_touch_at_a_corner_are_one_gap() -> None:
    mass = np.zeros((len(PLANE_MM), len(PLANE_MM)))
    mass[100, 100] = mass[101, 101] = mass[110, 110] = 1.0 / 3.0
    found = gaps(Coverage(accepted=np.zeros_like(mass), mass=mass, threshold=0.5), size_table([]), is_fore=True)
    assert [gap.share for gap in found] == pytest.approx([2.0 / 3.0, 1.0 / 3.0])
    assert [(gap.nearest, gap.beyond_mm) for gap in found] == [(None, (0.0, 0.0))] * 2
    assert [gap.width_mm for gap in found] == pytest.approx([120.0, 130.0])


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ((120.0, 120.0), (5.0, 0.0)),
        ((95.0, 108.0), (-4.5, 0.0)),
        ((108.0, 115.0), (0.0, 5.0)),
        ((108.0, 98.0), (0.0, -1.5)),
    ],
)
def test_the_nearest_size_says_how_far_the_hoof_lies_beyond_it(
    at: tuple[float, float], expected: tuple[float, float]
) -> None:
    table = size_table(
        [
            single((100.0, 109.0), (100.0, 110.0)),
            single((60.0, 70.0), (60.0, 70.0)),
            single((113.0, 114.5), (119.0, 121.0)),
        ]
    )
    (gap,) = gaps(covered([known(*at)], table), table, is_fore=True)
    assert gap.nearest == (2 if at == (120.0, 120.0) else 0)
    assert gap.beyond_mm == pytest.approx(expected, abs=0.2)


def test_a_size_with_one_axis_is_nearest_only_where_no_other_is() -> None:
    half, whole = single((118.0, 122.0), None), single((90.0, 95.0), (90.0, 95.0))
    for drawn, nearest in (([half, whole], 1), ([half], 0)):
        table = size_table(drawn)
        (gap, *_) = gaps(covered([hoof(120.0, 120.0)], table, threshold=0.6), table, is_fore=True)
        assert gap.nearest == nearest


@bounded
@given(st.lists(normals(least_sd=1.0), min_size=1, max_size=3), charts(), st.booleans())
def test_regions_part_the_herd(estimates: list[Estimate], drawn: BootChart, is_fore: bool) -> None:
    one = covered(estimates, size_table([drawn]))
    found = regions(one, is_fore=is_fore)
    assert sum(region.share for region in found) == pytest.approx(1.0)
    assert sum(region.served for region in found) == pytest.approx(one.served)
    assert all(0.0 <= region.served <= region.share + 1e-12 for region in found)
    by_shape = shares_by_shape(found)
    assert sum(share for share, _ in by_shape.values()) == pytest.approx(1.0)
    assert sum(served for _, served in by_shape.values()) == pytest.approx(one.served)


def test_thirds_of_size_hold_a_third_each() -> None:
    found = regions(covered([hoof(130.0, 130.0, sd=12.0, correlation=0.9)], size_table([])), is_fore=True)
    for third in range(3):
        assert sum(region.share for region in found if region.third == third) == pytest.approx(1 / 3, abs=0.02)


@pytest.mark.parametrize(
    ("ratio", "is_fore", "shape"),
    [
        (0.94, True, ShapeClass.NARROW),
        (0.94, False, ShapeClass.ROUND),
        (1.045, True, ShapeClass.ROUND),
        (1.045, False, ShapeClass.WIDE),
        (1.08, True, ShapeClass.WIDE),
    ],
)
def test_a_regions_shape_goes_by_fore_or_hind(ratio: float, is_fore: bool, shape: ShapeClass) -> None:
    shares = shares_by_shape(regions(covered([known(130.0 * ratio, 130.0)], size_table([])), is_fore=is_fore))
    assert shares[shape][0] > 0.9


def on_points(points: Mapping[tuple[float, float], float], *, accepted: float = 0.0) -> Coverage:
    """A herd on some points, and sizes that accept every hoof as surely as each other."""
    mass = np.zeros((len(PLANE_MM), len(PLANE_MM)))
    for (width, length), weight in points.items():
        mass[int(width - PLANE_MM[0]), int(length - PLANE_MM[0])] = weight
    return Coverage(accepted=np.full_like(mass, accepted), mass=mass / mass.sum(), threshold=THRESHOLD)


def test_hooves_that_just_make_up_a_third_belong_to_it() -> None:
    found = regions(on_points({(100.0, 100.0): 0.4, (120.0, 120.0): 0.35, (140.0, 140.0): 0.25}), is_fore=True)
    assert [region.third for region in found] == [0, 1, 2]
    assert [region.share for region in found] == pytest.approx([0.4, 0.35, 0.25])


def test_regions_without_hooves_are_left_out() -> None:
    assert len(regions(on_points({(120.0, 120.0): 1.0}), is_fore=True)) == 1


@pytest.mark.parametrize(("accepted", "served"), [(THRESHOLD, 1.0), (THRESHOLD - 1e-9, 0.0)])
def test_a_hoof_taken_just_as_surely_as_the_threshold_is_served(accepted: float, served: float) -> None:
    one = on_points({(120.0, 120.0): 1.0}, accepted=accepted)
    (region,) = regions(one, is_fore=True)
    assert one.served == region.served == served
    assert len(gaps(one, size_table([]), is_fore=True)) == 1 - served


@pytest.mark.parametrize(("is_fore", "shape"), [(True, ShapeClass.NARROW), (False, ShapeClass.ROUND)])
def test_a_gaps_shape_goes_by_fore_or_hind(is_fore: bool, shape: ShapeClass) -> None:
    (gap,) = gaps(on_points({(122.0, 130.0): 1.0}), size_table([]), is_fore=is_fore)
    assert gap.shape is shape


@pytest.mark.parametrize(("in_tail", "width_mm"), [(3.0, 101.0), (6.0, 104.0)])
def test_a_gaps_middle_is_where_it_is_thick_unless_far_more_hooves_are_elsewhere(
    in_tail: float, width_mm: float
) -> None:
    """A block of three by three, whose middle lies twice as far from the edge as the tail: it counts four times."""
    block = {(100.0 + row, 100.0 + column): 1.0 for row in range(3) for column in range(3)}
    (gap,) = gaps(on_points({**block, (103.0, 101.0): 1.0, (104.0, 101.0): in_tail}), size_table([]), is_fore=True)
    assert (gap.width_mm, gap.length_mm) == (width_mm, 101.0)


def test_without_sizes_nothing_is_served() -> None:
    one = covered([hoof(120.0, 120.0)], size_table([]))
    assert (one.served, one.by_chance) == (0.0, 0.0)


def test_a_bent_gap_has_its_middle_in_itself() -> None:
    mass = np.zeros((len(PLANE_MM), len(PLANE_MM)))
    mass[90:111, [90, 110]] = mass[[90, 110], 90:111] = 1.0
    (gap,) = gaps(
        Coverage(accepted=np.zeros_like(mass), mass=mass / mass.sum(), threshold=0.5), size_table([]), is_fore=True
    )
    assert gap.points[int(gap.width_mm - PLANE_MM[0]), int(gap.length_mm - PLANE_MM[0])]
    assert gap.share == pytest.approx(1.0)
