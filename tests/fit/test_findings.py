"""Findings: how a size stands to a hoof, and what is seen of it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, step_chances
from hooflast.fit.findings import (
    CLEAR,
    FIRST_LOOK,
    LAST_LOOK,
    USUAL,
    BulbMarks,
    Finding,
    HeelGap,
    Indicator,
    Rotation,
    Seen,
    Sight,
    Standing,
    standing_chances,
)
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import BootChart, size_table

from .reference import simulate_wearing
from .strategies import bounded, charts, known, ladder, lengths_mm, single

RIGHT, TOO_LARGE, TOO_NARROW, TOO_SHORT = range(4)
SIGHTS = pytest.mark.parametrize("sight", [USUAL, CLEAR], ids=["usual", "clear"])


def standing(chart: BootChart, width: float, length: float) -> Floats:
    """How each size of a chart stands to one hoof, (n, 4)."""
    point = np.array([width]), np.array([length])
    return standing_chances(point, size_table([chart]), sizes=range(len(chart.widths_mm)))[:, :, 0, 0]


class TestStanding:
    """Four ways to stand, by one link between hoof and size."""

    @bounded
    @given(chart=charts(), width=lengths_mm(), length=lengths_mm())
    def test_the_four_chances_of_a_size_are_chances_and_add_up_to_one(self, chart, width, length):
        chances = standing(chart, width, length)
        assert np.all(chances >= -1e-12)
        assert chances.sum(axis=1) == pytest.approx(np.ones(len(chances)))

    @bounded
    @given(chart=charts(), width=lengths_mm(), length=lengths_mm())
    def test_right_is_what_every_other_answer_calls_accepted(self, chart, width, length):
        table = size_table([chart])
        past = step_chances(known(width, length), edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        accepted = np.clip(past @ ACCEPTED, 0.0, 1.0).prod(axis=1)
        assert standing(chart, width, length)[:, RIGHT] == pytest.approx(accepted, abs=1e-6)

    @bounded
    @given(chart=charts(), width=lengths_mm(), length=lengths_mm())
    def test_too_small_is_an_or_over_both_axes(self, chart, width, length):
        table = size_table([chart])
        past = step_chances(known(width, length), edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        tight = past[:, :, -1]
        either = 1.0 - (1.0 - tight[:, 0]) * (1.0 - tight[:, 1])
        assert standing(chart, width, length)[:, TOO_NARROW:].sum(axis=1) == pytest.approx(either, abs=1e-5)

    @bounded
    @given(chart=charts(), width=lengths_mm(), length=lengths_mm(), more=st.floats(0.1, 10.0))
    def test_a_wider_hoof_finds_no_size_less_narrow_and_a_longer_one_none_less_small(self, chart, width, length, more):
        here, wider, longer = (
            standing(chart, *hoof) for hoof in ((width, length), (width + more, length), (width, length + more))
        )
        assert np.all(wider[:, TOO_NARROW] >= here[:, TOO_NARROW] - 1e-12)
        assert np.all(longer[:, TOO_NARROW:].sum(axis=1) >= here[:, TOO_NARROW:].sum(axis=1) - 1e-12)
        assert np.all(longer[:, TOO_LARGE] <= here[:, TOO_LARGE] + 1e-9)

    def test_a_hoof_in_the_middle_of_a_size_finds_it_right_the_larger_ones_too_large_the_smaller_ones_too_narrow(self):
        likeliest = standing(ladder(count=5, step=12.0, span=11.0), 129.5, 129.5).argmax(axis=1)
        assert likeliest.tolist() == [TOO_NARROW, TOO_NARROW, RIGHT, TOO_LARGE, TOO_LARGE]

    @pytest.mark.parametrize(
        ("width", "length", "stands"),
        [
            (120.0, 120.0, RIGHT),
            (135.0, 120.0, TOO_NARROW),
            (135.0, 105.0, TOO_NARROW),
            (135.0, 135.0, TOO_NARROW),
            (120.0, 135.0, TOO_SHORT),
            (105.0, 135.0, TOO_SHORT),
            (105.0, 120.0, TOO_LARGE),
            (120.0, 105.0, TOO_LARGE),
            (105.0, 105.0, TOO_LARGE),
        ],
    )
    def test_on_every_side_of_a_size_the_standing_is_the_one_that_shows_first(self, width, length, stands):
        assert standing(single((115.0, 125.0), (115.0, 125.0)), width, length)[0, stands] == pytest.approx(
            1.0, abs=1e-3
        )

    @pytest.mark.parametrize(
        ("chart", "hoof", "never"),
        [
            (single(None, (115.0, 125.0)), (300.0, 120.0), TOO_NARROW),
            (single((115.0, 125.0), None), (120.0, 300.0), TOO_SHORT),
        ],
    )
    def test_an_axis_the_chart_leaves_out_tells_against_no_size(self, chart, hoof, never):
        chances = standing(chart, *hoof)[0]
        assert chances[never] == 0.0
        assert chances[RIGHT] > 0.99

    def test_a_boot_model_s_sizes_stand_as_they_do_without_the_others_around_them(self):
        own, point = ladder(count=3), (np.array([107.0]), np.array([106.0]))
        table = size_table([ladder(count=2, first=(90.0, 90.0)), own, ladder(count=4, first=(120.0, 120.0))])
        among = standing_chances(point, table, sizes=table.sizes_of(1))[:, :, 0, 0]
        assert among == pytest.approx(standing(own, 107.0, 106.0))

    def test_a_size_for_one_dimension_alone_is_never_right_less_often_than_never(self):
        """Its loose edge is the wider of the two, and comes to be passed less often than the tight one."""
        chart = BootChart(
            closure=Closure.STRAP, widths_mm=[(100.0, 100.0)], lengths_mm=[None], chart_step_mm=0.0, make_sd_mm=0.0
        )
        for width in np.linspace(95.0, 105.0, 41):
            chances = standing(chart, float(width), 100.0)[0]
            assert np.all(chances >= 0.0)
            assert chances.sum() == pytest.approx(1.0)

    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.STRAP])
    def test_right_is_as_frequent_as_among_simulated_boots(self, closure):
        rng = np.random.default_rng(5)
        hoof = np.tile([113.0, 118.0], (40_000, 1))
        seen = simulate_wearing(hoof, width=(114.0, 120.0), length=(114.0, 120.0), closure=closure, rng=rng)
        chart = single((114.0, 120.0), (114.0, 120.0), closure=closure)
        assert standing(chart, 113.0, 118.0)[0, RIGHT] == pytest.approx(seen, abs=0.03)


class TestSight:
    """What a person sees of a size, by how it stands."""

    @SIGHTS
    @pytest.mark.parametrize("look", [FIRST_LOOK, LAST_LOOK], ids=["first look", "last look"])
    def test_the_chances_of_all_that_one_look_can_find_add_up_to_one(self, sight, look):
        if look is FIRST_LOOK:
            found = sum(first_look(finding, sight) for finding in look)
        else:
            found = sum(sight.chances(Seen(finding=finding)) for finding in look)
        assert found == pytest.approx(np.ones(4))

    @SIGHTS
    @pytest.mark.parametrize(
        ("kind", "words"),
        [("indicator", Indicator), ("rotation", Rotation), ("heel_gap", HeelGap), ("bulb_marks", BulbMarks)],
    )
    def test_the_chances_of_everything_one_kind_can_show_add_up_to_the_look_s_own(self, sight, kind, words):
        alone = sight.chances(Seen(finding=Finding.STAYS_PUT))
        beside = sum(sight.chances(Seen(finding=Finding.STAYS_PUT, **{kind: word})) for word in words)
        assert beside == pytest.approx(alone)

    @pytest.mark.parametrize(
        ("finding", "stands"),
        [
            (Finding.STAYS_PUT, {RIGHT}),
            (Finding.TURNS, {TOO_LARGE}),
            (Finding.WILL_NOT_GO_ON, {TOO_NARROW}),
            (Finding.HEEL_STILL_NOT_SEATED, {TOO_SHORT}),
            (Finding.HEEL_NOT_SEATED, {TOO_SHORT}),
        ],
    )
    def test_each_finding_speaks_most_for_the_standing_it_means(self, finding, stands):
        assert set(np.flatnonzero(CLEAR.chances(Seen(finding=finding)))) == stands
        assert {int(USUAL.chances(Seen(finding=finding)).argmax())} == stands

    @pytest.mark.parametrize(
        ("seen", "against"),
        [
            ({"indicator": Indicator.TOO_LARGE}, TOO_LARGE),
            ({"indicator": Indicator.TOO_SMALL}, TOO_NARROW),
            ({"indicator": Indicator.TOO_SMALL}, TOO_SHORT),
            ({"rotation": Rotation.SLIGHT}, TOO_LARGE),
            ({"rotation": Rotation.FREE}, TOO_LARGE),
            ({"heel_gap": HeelGap.OPENS}, TOO_SHORT),
            ({"heel_gap": HeelGap.OPENS}, TOO_LARGE),
            ({"bulb_marks": BulbMarks.MARKED}, TOO_SHORT),
            ({"bulb_marks": BulbMarks.MARKED}, TOO_LARGE),
        ],
    )
    def test_what_is_seen_after_movement_tells_against_a_right_size(self, seen, against):
        alone = USUAL.chances(Seen(finding=Finding.STAYS_PUT))
        moved = USUAL.chances(Seen(finding=Finding.STAYS_PUT, **seen))
        assert moved[against] / moved[RIGHT] > alone[against] / alone[RIGHT]

    @pytest.mark.parametrize(
        "seen", [{"rotation": Rotation.NONE}, {"heel_gap": HeelGap.NONE}, {"bulb_marks": BulbMarks.NONE}]
    )
    def test_movement_without_a_trouble_speaks_for_a_right_size_against_a_large_or_short_one(self, seen):
        alone = USUAL.chances(Seen(finding=Finding.STAYS_PUT))
        moved = USUAL.chances(Seen(finding=Finding.STAYS_PUT, **seen))
        for other in (TOO_LARGE, TOO_SHORT):
            assert moved[RIGHT] / moved[other] > alone[RIGHT] / alone[other]

    def test_a_heel_seen_unseated_first_says_less_than_one_seated_with_care(self):
        first, last = (
            USUAL.chances(Seen(finding=finding)) for finding in (Finding.HEEL_NOT_SEATED, Finding.HEEL_STILL_NOT_SEATED)
        )
        assert first[TOO_SHORT] / first[RIGHT] < last[TOO_SHORT] / last[RIGHT]

    def test_a_first_seating_as_likely_to_fail_as_to_succeed_is_worked_out_by_hand(self):
        """Right: 0.03 + ½ (0.92 + 0.04); too narrow: 0.06 + ½ (0.03 + 0.005)."""
        sight = Sight(
            last_look=USUAL.last_look,
            first_seating=0.5,
            indicator=USUAL.indicator,
            rotation=USUAL.rotation,
            heel_gap=USUAL.heel_gap,
            bulb_marks=USUAL.bulb_marks,
        )
        first = sight.chances(Seen(finding=Finding.HEEL_NOT_SEATED))
        assert first[[RIGHT, TOO_NARROW]] == pytest.approx([0.51, 0.0775])

    def test_the_arrays_are_in_the_order_of_the_words(self):
        assert [word.value for word in Standing] == ["right", "too_large", "too_narrow", "too_short"]
        assert USUAL.last_look.shape == (len(Standing), len(LAST_LOOK))


class TestSeen:
    @pytest.mark.parametrize(
        ("seen", "moved"),
        [
            ({}, False),
            ({"indicator": Indicator.RIGHT}, False),
            ({"rotation": Rotation.NONE}, True),
            ({"heel_gap": HeelGap.NONE}, True),
            ({"bulb_marks": BulbMarks.MARKED}, True),
        ],
    )
    def test_movement_was_made_if_anything_was_looked_at_after_it(self, seen, moved):
        assert Seen(finding=Finding.STAYS_PUT, **seen).has_moved is moved


def first_look(finding: Finding, sight: Sight) -> Floats:
    """P(finding at the first look | standing): as at the last look, where the heel was seated at once."""
    chances = sight.chances(Seen(finding=finding))
    return chances * (1.0 - sight.first_seating) if finding in (Finding.STAYS_PUT, Finding.TURNS) else chances
