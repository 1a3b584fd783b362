"""One hoof against a whole table: the best size and its neighbours, the order of boot models, and who is left out."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference, verdict_chances
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.layout import lay_out_sizes
from hooflast.fit.match import WORTH_SHOWING, BootMatch, HoofMatch, match_hoof
from hooflast.fit.sizes import BootChart, size_table

from .strategies import bounded, charts, known, ladder, mixtures, read, single

ROUND = ladder(span=9.0, step=4.0, count=12)

ADJUSTABLE = [closure for closure in Closure if closure is not Closure.PULL_ON]


def match(mixed: Estimate, *boots: BootChart, wish_rank=None) -> HoofMatch:
    return match_hoof(
        mixed, lay_out_sizes(size_table(boots)), boots=np.arange(len(boots)), wish_rank=wish_rank or [0] * len(boots)
    )


def only(mixed: Estimate, boot: BootChart) -> BootMatch:
    (found,) = match(mixed, boot).boots
    return found


def horse(width: float, length: float, **told) -> Estimate:
    return estimate_hoof(read(width, length, **told), animal_type=AnimalType.HORSE)


some_charts = st.lists(charts(), min_size=1, max_size=5)


class TestBestSize:
    @bounded
    @given(mixtures(), some_charts)
    def test_it_has_the_highest_expected_worth_of_its_boot_model(self, mixed, boots):
        table = size_table(boots)
        corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        steps = np.array([preference(closure) for closure in table.closures])[table.boot_of]
        worth = expected_worth(corners, steps=steps)
        for found in match(mixed, *boots).boots:
            sizes = table.sizes_of(found.boot)
            assert found.best in sizes
            assert worth[found.best] >= worth[sizes.start : sizes.stop].max() - 1e-4

    @pytest.mark.parametrize(("closure", "best"), [(Closure.PULL_ON, 0), *((closure, 1) for closure in ADJUSTABLE)])
    def test_of_two_sizes_that_overlap_a_pull_on_takes_the_snug_one_and_a_strap_the_middle(self, closure, best):
        """fit-model section 4 [C]: a sharp reading of 115 is in the snug third of 100–118 and in the middle third of
        108–126."""
        boot = BootChart(
            closure=closure,
            widths_mm=[(100.0, 118.0), (107.0, 125.0)],
            lengths_mm=[(100.0, 118.0), (107.0, 125.0)],
            chart_step_mm=0.0,
        )
        assert only(known(115.0, 115.0), boot).best == best

    @bounded
    @given(size=st.integers(0, 7), closure=st.sampled_from(Closure))
    def test_a_sharp_reading_in_the_middle_of_a_size_takes_that_size(self, size, closure):
        found = only(known(102.0 + 5.0 * size, 102.0 + 5.0 * size), ladder(closure=closure))
        assert (found.best, found.by_width, found.by_length) == (size, size, size)
        assert found.smaller == (size - 1 if size > 0 else None)
        assert found.larger == (size + 1 if size < 7 else None)

    def test_the_only_size_has_no_neighbours(self):
        found = only(known(118.0, 118.0), single((112.0, 120.0), (112.0, 120.0)))
        assert (found.smaller, found.larger) == (None, None)

    @bounded
    @given(mixtures(), some_charts)
    def test_neighbours_are_the_next_sizes_of_the_same_boot_model(self, mixed, boots):
        table = size_table(boots)
        for found in match(mixed, *boots).boots:
            sizes = table.sizes_of(found.boot)
            assert found.smaller == (found.best - 1 if found.best - 1 in sizes else None)
            assert found.larger == (found.best + 1 if found.best + 1 in sizes else None)


class TestWidthAgainstLength:
    def test_a_narrow_hoof_asks_a_round_boot_for_a_smaller_size_by_width_than_by_length(self):
        found = only(horse(117.0, 125.0), ROUND)
        assert found.by_width < found.by_length
        assert found.steps_apart == found.by_width - found.by_length < 0

    def test_a_wide_hoof_asks_it_the_other_way_round(self):
        found = only(horse(125.0, 117.0), ROUND)
        assert found.by_width > found.by_length
        assert found.steps_apart == found.by_width - found.by_length > 0

    def test_a_hoof_of_the_boot_s_own_shape_asks_for_one_size(self):
        assert only(horse(122.0, 122.0), ladder(count=10)).steps_apart == 0

    @pytest.mark.parametrize("missing", ["width", "length"])
    def test_an_axis_that_the_chart_leaves_out_asks_for_nothing(self, missing):
        boot = ladder(count=10)
        boot = replace(boot, **{f"{missing}s_mm": [None] * 10})
        found = only(horse(122.0, 122.0), boot)
        assert (found.by_width is None, found.by_length is None) == (missing == "width", missing == "length")
        assert found.steps_apart is None

    def test_a_size_without_one_axis_is_not_asked_for_by_it(self):
        boot = replace(ladder(count=3, first=(117.0, 117.0)), widths_mm=[None, (117.0, 121.0), (122.0, 126.0)])
        assert only(known(119.0, 119.0), boot).by_width == 1

    @pytest.mark.parametrize("shared", ["widths_mm", "lengths_mm"])
    def test_sizes_that_share_a_range_on_one_axis_are_no_difference_in_shape(self, shared):
        """A chart may offer two lengths for one width, or two widths for one length."""
        stepped = [(110.0, 114.0), (115.0, 119.0), (120.0, 124.0)]
        boot = replace(ladder(count=3), **{"widths_mm": stepped, "lengths_mm": stepped, shared: [(110.0, 124.0)] * 3})
        for size, dimension in enumerate((112.0, 117.0, 122.0)):
            width, length = (117.0, dimension) if shared == "widths_mm" else (dimension, 117.0)
            found = only(known(width, length), boot)
            assert (found.best, found.steps_apart) == (size, 0)


class TestOrder:
    @bounded
    @given(mixtures(), some_charts, st.data())
    def test_a_wish_acts_inside_a_band_only(self, mixed, boots, data):
        wishes = data.draw(st.lists(st.integers(0, 2), min_size=len(boots), max_size=len(boots)))
        plain, wished = match(mixed, *boots), match(mixed, *boots, wish_rank=wishes)
        assert [found.band for found in wished.boots] == [found.band for found in plain.boots]
        assert {found.boot: found for found in wished.boots} == {found.boot: found for found in plain.boots}
        for before, after in zip(wished.boots, wished.boots[1:], strict=False):
            if before.band == after.band:
                assert wishes[before.boot] <= wishes[after.boot]

    def test_a_wished_closure_comes_first_among_ties_and_stays_behind_what_is_closer(self):
        boots = [ladder(count=10), ladder(count=10, first=(100.4, 100.4)), ladder(count=3, span=19.0, step=20.0)]
        plain = match(horse(122.0, 122.0), *boots)
        assert [(found.boot, found.band > 0) for found in plain.boots] == [(0, False), (1, False), (2, True)]
        wished = match(horse(122.0, 122.0), *boots, wish_rank=[1, 0, 0])
        assert [found.boot for found in wished.boots] == [1, 0, 2]

    @bounded
    @given(mixtures(), some_charts)
    def test_without_wishes_the_closest_comes_first(self, mixed, boots):
        closeness = [found.closeness for found in match(mixed, *boots).boots]
        assert closeness == sorted(closeness, reverse=True)

    @bounded
    @given(mixtures(), some_charts, st.data())
    def test_the_order_of_the_table_decides_nothing_but_exact_ties(self, mixed, boots, data):
        order = data.draw(st.permutations(range(len(boots))))
        straight, shuffled = match(mixed, *boots), match(mixed, *[boots[place] for place in order])
        back = {order[found.boot]: found for found in shuffled.boots}
        assert set(back) == {found.boot for found in straight.boots}
        for found in straight.boots:
            assert back[found.boot].closeness == pytest.approx(found.closeness, abs=1e-12)
        assert [found.closeness for found in shuffled.boots] == pytest.approx(
            [found.closeness for found in straight.boots], abs=1e-12
        )

    def test_equal_boot_models_stay_in_the_order_of_the_table(self):
        twins = [ladder(count=10)] * 3
        assert [found.boot for found in match(horse(122.0, 122.0), *twins).boots] == [0, 1, 2]

    def test_only_the_boot_models_asked_about_are_ranked(self):
        table = size_table([ladder(count=10), ladder(count=10, closure=Closure.STRAP), ladder(count=10)])
        found = match_hoof(horse(122.0, 122.0), lay_out_sizes(table), boots=np.array([2, 0]), wish_rank=[0, 0, 0])
        assert sorted(boot.boot for boot in found.boots) == [0, 2]
        assert len(found.fit_chances) == len(found.verdicts) == 30

    def test_equal_boot_models_stay_in_the_order_of_the_table_however_they_are_asked_about(self):
        layout = lay_out_sizes(size_table([ladder(count=10)] * 3))
        found = match_hoof(horse(122.0, 122.0), layout, boots=np.array([2, 0, 1]), wish_rank=[0, 0, 0])
        assert [boot.boot for boot in found.boots] == [0, 1, 2]

    @pytest.mark.parametrize("most", [0, 1, 2, 5])
    def test_no_more_are_offered_than_asked_for_and_they_are_the_first(self, most):
        layout = lay_out_sizes(size_table([ladder(count=10, first=(at, at)) for at in (99.0, 100.0, 101.0)]))
        every, few = (
            match_hoof(horse(122.0, 122.0), layout, boots=np.arange(3), wish_rank=[0] * 3, at_most=at_most)
            for at_most in (None, most)
        )
        assert len(every.boots) == 3
        assert few.boots == every.boots[:most]


class TestWhatIsSaid:
    @bounded
    @given(mixtures(), some_charts)
    def test_each_boot_model_is_told_as_it_compares(self, mixed, boots):
        layout, every = lay_out_sizes(size_table(boots)), np.arange(len(boots))
        compared = layout.compare(mixed, boots=every)
        for found in match(mixed, *boots).boots:
            assert found.closeness == compared.expected[found.boot]
            assert found.some_fits == compared.some_fits[found.boot]
            assert found.band == compared.bands[found.boot]
            assert [type(each) for each in (found.boot, found.band, found.best)] == [int, int, int]

    @bounded
    @given(mixtures(), some_charts)
    def test_every_size_of_an_offered_boot_model_has_its_verdicts_and_no_other_size_has_any(self, mixed, boots):
        table = size_table(boots)
        exact = verdict_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        found = match(mixed, *boots)
        offered = np.isin(table.boot_of, [one.boot for one in found.boots])
        assert found.verdicts[offered] == pytest.approx(exact[offered], abs=1e-12)
        assert np.isnan(found.verdicts[~offered]).all()
        assert np.isnan(found.fit_chances[~offered]).all()
        assert found.verdicts.shape == (len(table.edges_mm), 2, 5)

    def test_a_size_out_of_reach_fits_never(self):
        found = match(horse(104.0, 104.0), ladder(count=10))
        assert found.fit_chances[-1] == 0.0
        assert found.fit_chances[0] > 0.4

    @pytest.mark.parametrize(("width", "by_width"), [(112.0, 0), (118.9, 1), (123.0, 2)])
    def test_the_size_by_width_is_the_one_of_largest_worth_in_width(self, width, by_width):
        stepped = [(110.0, 114.0), (115.0, 119.0), (120.0, 124.0)]
        boot = BootChart(closure=Closure.PULL_ON, widths_mm=stepped, lengths_mm=[(110.0, 124.0)] * 3)
        assert only(known(width, 117.0), boot).by_width == by_width


class TestLeftOut:
    @bounded
    @given(mixtures(), some_charts)
    def test_boot_models_that_hardly_fit_in_any_size_are_left_out_and_no_others(self, mixed, boots):
        layout = lay_out_sizes(size_table(boots))
        some_fits = layout.compare(mixed, boots=np.arange(len(boots))).some_fits
        assert {found.boot for found in match(mixed, *boots).boots} == set(
            np.flatnonzero(some_fits >= WORTH_SHOWING).tolist()
        )

    @pytest.mark.parametrize("closure", Closure)
    def test_a_boot_that_surely_fits_is_offered_however_wide_its_range(self, closure):
        """A hoof of 104 in a size for 100–130: far from close, but nothing else may be there to offer."""
        coarse = single((100.0, 130.0), (100.0, 130.0), closure=closure)
        fine = ladder(closure=closure, first=(100.0, 100.0), count=3)
        assert [found.boot for found in match(horse(104.0, 104.0), coarse, fine).boots] == [1, 0]

    def test_a_hoof_of_twice_the_largest_size_is_offered_nothing(self):
        assert match(known(240.0, 240.0), ladder(), ladder(closure=Closure.STRAP)).boots == ()

    def test_an_empty_table_and_an_empty_choice_are_answered_too(self):
        assert match(horse(122.0, 122.0)).boots == ()
        chosen = match_hoof(
            horse(122.0, 122.0), lay_out_sizes(size_table([ladder()])), boots=np.empty(0, dtype=np.intp), wish_rank=[0]
        )
        assert chosen.boots == ()
        assert len(chosen.fit_chances) == 8

    @bounded
    @given(mixtures(), some_charts)
    def test_sizes_that_are_out_of_reach_are_off_by_no_more_than_1e_4(self, mixed, boots):
        table = size_table(boots)
        corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        exact = expected_worth(corners, steps=ACCEPTED)
        found = match(mixed, *boots)
        for offered in found.boots:
            sizes = table.sizes_of(offered.boot)
            rows = slice(sizes.start, sizes.stop)
            assert found.fit_chances[rows] == pytest.approx(exact[rows], abs=1e-4)


class TestPublishedHooves:
    """Hooves of published groups, measured by a professional, on a dense chart: sizes of every proportion from 0.92 to
    1.12, 4 mm apart and 8 mm wide. The best size contains the hoof and something fits."""

    PROPORTIONS = (0.92, 0.96, 1.0, 1.04, 1.08, 1.12)

    def boots(self, closure: Closure) -> list[BootChart]:
        lows = np.arange(88.0, 190.0, 4.0)
        return [
            BootChart(
                closure=closure,
                widths_mm=[(low * proportion, low * proportion + 8.0) for low in lows],
                lengths_mm=[(low, low + 8.0) for low in lows],
            )
            for proportion in self.PROPORTIONS
        ]

    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.STRAP])
    @pytest.mark.parametrize(
        ("animal_type", "limb", "width", "length"),
        [
            pytest.param(AnimalType.HORSE, Limb.LF, 131.0, 130.1, id="Dareh-Shori after the trim"),
            pytest.param(AnimalType.HORSE, Limb.RF, 138.0, 136.9, id="Dareh-Shori before the trim"),
            pytest.param(AnimalType.DRAFT, Limb.LF, 1.08 * 158.0, 158.0, id="young heavy horse, fore"),
            pytest.param(AnimalType.DRAFT, Limb.LH, 158.0, 158.0, id="young heavy horse, hind"),
        ],
    )
    def test_a_hoof_of_a_published_group_finds_its_size(self, closure, animal_type, limb, width, length):
        """Sole length 136.9 before and 130.1 mm after the trim (Iran J Vet Surg, Dareh-Shori), the width not given and
        taken from the proportion of the kind; width over length 1.08 fore and 1.00 hind (young heavy horses, J Equine
        Vet Sci 2012;32:231), the length not given and taken from the kind."""
        reading = read([width] * 3, [length] * 3, limb=limb)
        boots = self.boots(closure)
        first, *_ = match(estimate_hoof(reading, animal_type=animal_type), *boots).boots
        table = size_table(boots)
        size = first.best - table.sizes_of(first.boot).start
        chart = boots[first.boot]
        assert first.some_fits > 0.85
        for (low, high), dimension in ((chart.widths_mm[size], width), (chart.lengths_mm[size], length)):
            assert low - 0.5 <= dimension <= high + 0.5
        assert abs(self.PROPORTIONS[first.boot] - width / length) <= 0.05
