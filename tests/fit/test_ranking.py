"""Places of boot models: what a chart can earn and what it cannot, ties, and the chance that nothing fits."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, Method, Observer
from hooflast.fit.ranking import LEAST_BAND, UNKNOWN, Closeness, compare_boots, on_lattice
from hooflast.fit.sizes import TOLERANCE_MM, BootChart, size_table

from .strategies import (
    animal_types,
    bounded,
    charts,
    closures,
    hoof,
    known,
    ladder,
    mixture,
    mixtures,
    normals,
    read,
    readings,
    single,
)

SPLIT_COSTS_AT_MOST = 2e-5
"""What unlike give on the two sides of a split may take from the sum of acceptances."""


def compare(mixed, boots) -> Closeness:
    return compare_boots(mixed, size_table(boots), boots=np.arange(len(boots)))


@st.composite
def splits(draw) -> tuple[BootChart, BootChart]:
    """A chart, and the same with one size parted in two that touch, in width or in length."""
    chart = draw(charts())
    size = draw(st.integers(0, len(chart.widths_mm) - 1))
    present = [axis for axis in ("widths_mm", "lengths_mm") if getattr(chart, axis)[size] is not None]
    split, half = draw(st.sampled_from(present)), chart.chart_step_mm / 2.0
    low, high = getattr(chart, split)[size]
    assume(high - low > chart.chart_step_mm)
    middle = draw(st.floats(low + half, high - half))
    finer = {}
    for axis in ("widths_mm", "lengths_mm"):
        ranges = list(getattr(chart, axis))
        parts = [(low, middle - half), (middle + half, high)] if axis == split else [ranges[size]] * 2
        finer[axis] = [*ranges[:size], *parts, *ranges[size + 1 :]]
    return chart, replace(chart, **finer)


class TestFineAndCoarseCharts:
    @bounded
    @given(mixed=mixtures(), pair=splits())
    def test_splitting_a_size_in_two_never_makes_a_boot_model_less_close(self, mixed, pair):
        coarse, fine = compare(mixed, pair).expected
        assert fine >= coarse - SPLIT_COSTS_AT_MOST

    @bounded
    @given(mixed=mixtures(), pair=splits(), others=st.lists(charts(), max_size=3))
    def test_splitting_a_size_in_two_never_lowers_its_boot_model_s_place(self, mixed, pair, others):
        """Its place: its band, and how many boot models are closer than it."""
        before, after = (compare(mixed, [chart, *others]) for chart in pair)
        assert np.sum(after.expected[1:] > after.expected[0] + SPLIT_COSTS_AT_MOST) <= np.sum(
            before.expected[1:] > before.expected[0]
        )
        assert after.bands[0] <= before.bands[0] or after.expected[0] < before.expected[0]

    @bounded
    @given(mixed=normals(), closure=closures, parts=st.integers(2, 6))
    def test_a_coarse_chart_is_never_closer_than_a_fine_one_over_the_same_range(self, mixed, closure, parts):
        """One size 90–150 against the same in equal parts, touching."""
        cuts = np.linspace(90.0, 150.0, parts + 1).tolist()
        ranges = list(pairwise(cuts))
        coarse = single((90.0, 150.0), (90.0, 150.0), closure=closure)
        pairs = [(width, length) for width in ranges for length in ranges]
        fine = BootChart(
            closure=closure,
            widths_mm=[width for width, _ in pairs],
            lengths_mm=[length for _, length in pairs],
            chart_step_mm=0.0,
        )
        found = compare(mixed, [coarse, fine])
        assert found.expected[1] >= found.expected[0] - parts**2 * SPLIT_COSTS_AT_MOST

    def test_a_fine_chart_is_closer_than_a_coarse_one_for_an_ordinary_hoof(self):
        hoof_read = estimate_hoof(read(112.0, 112.0), animal_type=AnimalType.HORSE)
        coarse, fine = ladder(step=20.0, span=19.0, count=2), ladder(step=5.0, span=4.0, count=8)
        found = compare(hoof_read, [coarse, fine])
        assert found.expected[1] > found.expected[0] + 0.2
        assert found.some_fits[0] > found.some_fits[1], "though the coarse one fits somehow, more often"

    @bounded
    @given(closures, st.integers(2, 4))
    def test_a_size_told_more_than_once_counts_once(self, closure, times):
        once = single((100.0, 122.0), (100.0, 122.0), closure=closure)
        often = replace(once, widths_mm=list(once.widths_mm) * times, lengths_mm=list(once.lengths_mm) * times)
        found = compare(known(118.0, 118.0), [once, often])
        assert found.expected[1] == pytest.approx(found.expected[0], abs=1e-4)
        assert found.some_fits[1] == pytest.approx(found.some_fits[0])

    def test_adding_a_size_never_lowers_a_boot_model(self):
        hoof_read = estimate_hoof(read(118.0, 121.0), animal_type=AnimalType.HORSE)
        found = compare(hoof_read, [ladder(first=(100.0, 102.0), count=count) for count in range(1, 9)])
        assert np.all(np.diff(found.expected) >= 0.0)
        assert np.all(np.diff(found.some_fits) >= 0.0)


class TestCloseness:
    @bounded
    @given(mixtures(), charts())
    def test_it_is_a_share_and_no_larger_than_the_chance_that_any_size_is_near(self, mixed, chart):
        found = compare(mixed, [chart])
        assert 0.0 <= found.expected[0] <= 1.0
        assert 0.0 <= found.some_fits[0] <= 1.0

    @bounded
    @given(closures, st.floats(0.5, 6.0))
    def test_no_hoof_is_accepted_or_followed_less_than_not_at_all(self, closure, span):
        """Far past a narrow size both edges are passed all but surely, the blurred one a little less so."""
        table, points = (
            size_table([single((100.0, 100.0 + span), (100.0, 100.0 + span), closure=closure)]),
            np.arange(80.0, 130.0, 0.25),
        )
        closeness, accepted = on_lattice((points, points[:1] * 0.0 + 100.5), table, sizes=range(1))
        assert closeness.min() >= 0.0
        assert accepted.min() >= 0.0

    def test_of_a_hoof_that_is_one_of_several_it_is_the_mean_over_them(self):
        parts, boots = [hoof(112.0, 113.0, sd=2.0), hoof(121.0, 119.0, sd=3.0), hoof(130.0, 127.0, sd=1.5)], [ladder()]
        apart = np.array([compare(part, boots).expected[0] for part in parts])
        together = compare(mixture(parts, weights=[1.0, 2.0, 1.0]), boots).expected[0]
        assert together == pytest.approx(apart @ [0.25, 0.5, 0.25], abs=2e-3)
        assert np.ptp(apart) > 0.02

    @pytest.mark.parametrize("closure", Closure)
    def test_the_less_clearance_the_closer(self, closure):
        """A known hoof of 118 in boots that reach 121, 122, 123, … on both axes, to twice the closure's tolerance."""
        ends = np.arange(121.0, 118.0 + 2.0 * TOLERANCE_MM[closure])
        found = compare(known(118.0, 118.0), [single((100.0, end), (100.0, end), closure=closure) for end in ends])
        assert np.all(np.diff(found.expected) < 0.0)

    @bounded
    @given(closures)
    def test_to_be_accepted_with_far_too_much_room_counts_for_half(self, closure):
        found = compare(known(118.0, 118.0), [single((100.0, 190.0), (100.0, 190.0), closure=closure)])
        assert found.expected[0] == pytest.approx(0.5, abs=1e-4)

    @bounded
    @given(closures)
    def test_a_clearance_of_the_closure_s_tolerance_counts_half_on_each_axis(self, closure):
        end = 118.0 + TOLERANCE_MM[closure]
        both, width_only = compare(
            known(118.0, 118.0),
            [
                single((100.0, end), (100.0, end), closure=closure),
                single((100.0, end), None, closure=closure),
            ],
        ).expected
        assert both == pytest.approx(0.5 + 0.5 * 0.25, abs=1e-4)
        assert width_only == pytest.approx(UNKNOWN * (0.5 + 0.5 * 0.5 * UNKNOWN), abs=1e-4)

    def test_a_chart_without_lengths_is_neither_trusted_nor_ruled_out(self):
        """A boot whose length is known to be right is closer, one whose length is known to be wrong is not."""
        right, unsaid, wrong = compare(
            known(118.0, 118.0),
            [single((112.0, 120.0), length) for length in ((112.0, 120.0), None, (130.0, 138.0))],
        ).expected
        assert right > unsaid > wrong


class TestNoneFits:
    def test_the_chance_that_none_fits_is_neither_a_product_nor_one_minus_a_sum(self):
        """By hand: a hoof is 112, 122 or 140 mm wide with a chance of 1/5 each, or 117 with 2/5. Of two sizes that
        overlap, one takes 112 and 117, the other 117 and 122: 3/5 each. Nothing takes 140, so none fits in 1/5; the
        product of both failing would be 4/25, and one minus the sum of both fitting -1/5."""
        sizes = [single(width, None) for width in ((106.0, 119.5), (114.5, 128.0))]
        both = replace(sizes[0], widths_mm=[(106.0, 119.5), (114.5, 128.0)], lengths_mm=[None, None])
        hooves = mixture([known(width, 117.0) for width in (112.0, 117.0, 122.0, 140.0)], weights=[1, 2, 1, 1])
        one, other, either = compare(hooves, [*sizes, both]).some_fits
        assert (one, other) == pytest.approx((3 / 5, 3 / 5), abs=5e-3)
        assert 1.0 - either == pytest.approx(1 / 5, abs=5e-3)
        assert (1.0 - one) * (1.0 - other) == pytest.approx(4 / 25, abs=5e-3)

    @bounded
    @given(mixtures(), charts())
    def test_some_size_fits_at_least_as_often_as_the_best_and_at_most_as_often_as_all_added_up(self, mixed, chart):
        """Bounds of a union, to the accuracy of the lattices."""
        apart = [
            compare(mixed, [replace(chart, widths_mm=[width], lengths_mm=[length])]).some_fits[0]
            for width, length in zip(chart.widths_mm, chart.lengths_mm, strict=True)
        ]
        together = compare(mixed, [chart]).some_fits[0]
        assert max(apart) - 1e-9 <= together <= sum(apart) + 1e-9


class TestBands:
    @bounded
    @given(readings(), animal_types, st.lists(charts(), min_size=1, max_size=6))
    def test_a_closer_boot_model_is_never_in_a_later_band(self, reading, animal_type, boots):
        found = compare(estimate_hoof(reading, animal_type=animal_type), boots)
        order = np.argsort(-found.expected)
        assert found.bands[order[0]] == 0
        assert np.all(np.diff(found.bands[order]) >= 0)

    @bounded
    @given(mixtures(), st.lists(charts(), min_size=2, max_size=6), st.data())
    def test_the_order_in_which_boot_models_come_does_not_matter(self, mixed, boots, data):
        order = data.draw(st.permutations(range(len(boots))))
        straight, shuffled = compare(mixed, boots), compare(mixed, [boots[place] for place in order])
        assert shuffled.expected == pytest.approx(straight.expected[order], abs=1e-12)
        assert shuffled.some_fits == pytest.approx(straight.some_fits[order], abs=1e-12)

    @bounded
    @given(mixtures(), st.lists(charts(), min_size=2, max_size=5), charts())
    def test_another_boot_model_never_changes_how_close_the_others_are(self, mixed, boots, another):
        alone, among = compare(mixed, boots), compare(mixed, [*boots, another])
        assert among.expected[:-1].tolist() == alone.expected.tolist()
        assert among.some_fits[:-1].tolist() == alone.some_fits.tolist()

    def test_the_band_of_a_known_hoof_is_as_narrow_as_stated(self):
        """Boots that reach further and further past a known hoof part into bands of LEAST_BAND."""
        boots = [single((100.0, end), (100.0, 140.0)) for end in np.arange(120.0, 123.0, 0.05)]
        found = compare(known(118.0, 136.0), boots)
        assert found.bands.tolist() == ((found.expected.max() - found.expected) / LEAST_BAND).astype(int).tolist()
        assert found.bands.max() > 3

    @bounded
    @given(readings(), st.lists(charts(), min_size=1, max_size=6))
    def test_a_band_is_a_quarter_of_what_uncertainty_costs_a_boot_made_to_measure(self, reading, boots):
        """A pull-on boot with a single size, 5 mm wide around the hoof's mean, on the hoof as known and as it is."""
        hoof_read = estimate_hoof(reading, animal_type=AnimalType.HORSE)
        to_measure = single(*[(float(middle) - 2.5, float(middle) + 2.5) for middle in hoof_read.mean])
        (sure,), (unsure,) = (compare(each, [to_measure]).expected for each in (known(*hoof_read.mean), hoof_read))
        found, width = compare(hoof_read, boots), max(LEAST_BAND, (sure - unsure) / 4.0)
        behind = (found.expected.max() - found.expected) / width
        assert np.all(found.bands <= behind + 1e-3)
        assert np.all(found.bands >= behind - 1.0 - 1e-3)

    def test_the_less_a_hoof_is_known_the_more_boot_models_tie(self):
        boots = [ladder(first=(100.0 + shift, 100.0 + shift)) for shift in np.arange(0.0, 5.0, 0.5)]
        readings_worse_and_worse = [
            read(117.0, 117.0),
            read(117.0, 117.0, method=Method.TAPE),
            read(117.0, 117.0, method=Method.UNKNOWN, observer=Observer.OWNER),
            read(117.0, 117.0, method=Method.UNKNOWN, observer=Observer.OWNER, age_weeks=16.0),
        ]
        ties = [
            np.sum(compare(estimate_hoof(reading, animal_type=AnimalType.HORSE), boots).bands == 0)
            for reading in readings_worse_and_worse
        ]
        assert ties == sorted(ties)
        assert ties[0] < ties[-1] == len(boots)

    @bounded
    @given(mixtures(), st.lists(charts(), min_size=1, max_size=5), st.data())
    def test_some_of_them_among_themselves_are_as_if_the_others_were_not_there(self, mixed, boots, data):
        places = data.draw(st.lists(st.integers(0, len(boots) - 1), min_size=1, unique=True))
        among, alone = compare(mixed, boots).among(np.array(places)), compare(mixed, [boots[at] for at in places])
        assert among.expected == pytest.approx(alone.expected, abs=1e-12)
        assert among.some_fits == pytest.approx(alone.some_fits, abs=1e-12)
        assert among.bands.tolist() == alone.bands.tolist()

    def test_no_boot_model_is_no_comparison(self):
        found = compare(hoof(120.0, 120.0), [])
        assert (len(found.bands), len(found.expected), len(found.some_fits)) == (0, 0, 0)
