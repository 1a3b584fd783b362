"""Padded: sizes with a pad are those of a larger hoof; pads have their limits where the size or the fit goes."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference
from hooflast.fit.pad import About, Pad, PadKind, room_lost
from hooflast.fit.padded import KEEPS, THICKNESS_STEP_MM, padded, padded_sizes, thickness_limits
from hooflast.fit.sizes import size_table

from .strategies import bounded, charts, hoof, ladder, mixtures, single

INCOMPRESSIBLE = Pad(thickness_mm=0.0, compressed=About(middle=0.0))
TABLE = size_table([ladder(), ladder(closure=Closure.STRAP, first=(104.0, 102.0), count=4)])


@bounded
@given(mixtures(), charts(), st.floats(0.0, 12.0))
def test_a_padded_boot_is_worth_what_it_is_worth_to_a_hoof_larger_by_the_room(estimate, chart, thickness) -> None:
    table = size_table([ladder(), chart])
    found = padded_sizes(estimate, table, boot=1, pad=Pad(thickness_mm=99.0), thicknesses_mm=[thickness])
    room = room_lost(Pad(thickness_mm=thickness), hoof_length_mm=float(estimate.mean[1]))
    larger = estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)
    sizes = table.sizes_of(1)
    rows = slice(sizes.start, sizes.stop)
    corners = corner_chances(larger, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows])
    assert found.fit_chances[0] == pytest.approx(expected_worth(corners, steps=ACCEPTED))
    worths = expected_worth(corners, steps=preference(table.closures[1]))
    assert worths[found.best[0] - sizes.start] == worths.max()
    assert found.served[0] == found.fit_chances[0, found.best[0] - sizes.start]


def test_the_length_of_the_hoof_tells_how_far_a_wedge_tilts_it() -> None:
    wedge = Pad(thickness_mm=20.0, kind=PadKind.WEDGE, compressed=About(middle=0.0))
    short, long = (padded(hoof(110.0, length), pad=wedge).mean[1] - length for length in (90.0, 180.0))
    assert short == pytest.approx(np.sqrt(90.0**2 - 400.0) - 90.0)
    assert long == pytest.approx(np.sqrt(180.0**2 - 400.0) - 180.0)


@bounded
@given(st.floats(100.0, 130.0), st.floats(-1.5, 1.5), st.floats(0.5, 4.0))
def test_a_thicker_pad_never_asks_for_a_smaller_size(width: float, longer: float, sd: float) -> None:
    best = padded_sizes(
        hoof(width, width + longer, sd=sd), TABLE, boot=0, pad=INCOMPRESSIBLE, thicknesses_mm=[0.0, 2.0, 4.0, 8.0]
    ).best
    assert np.all(np.diff(best) >= 0)


def test_six_millimetres_move_a_hoof_near_the_end_of_its_size_to_the_next() -> None:
    """Width 103 in 100–104 becomes 105.8 of 105–109; length 103 becomes 106.5."""
    found = padded_sizes(hoof(103.0, 103.0, sd=0.2), TABLE, boot=0, pad=INCOMPRESSIBLE, thicknesses_mm=[0.0, 6.0])
    assert found.best.tolist() == [0, 1]


@pytest.mark.parametrize(("closure", "best"), [(Closure.PULL_ON, 0), (Closure.STRAP, 1)])
def test_where_two_sizes_take_a_hoof_the_closure_says_which_is_better(closure: Closure, best: int) -> None:
    """104 with a pad is 108: in the snug third of 100–110, in the middle of 104–114; 93 is 98 likewise."""
    chart = ladder(closure=closure, first=(100.0, 90.0), span=10.0, step=4.0, count=2, chart_step_mm=0.0)
    walls_take = 4.0 / (2.0 / np.tan(np.radians(77.0)))
    found = padded_sizes(
        hoof(104.0, 93.0, sd=0.1), size_table([chart]), boot=0, pad=INCOMPRESSIBLE, thicknesses_mm=[walls_take]
    )
    assert found.best.tolist() == [best]


class TestLimits:
    """How thick a pad may be."""

    @bounded
    @given(mixtures(), charts(), st.floats(0.0, 12.0))
    def test_the_limits_are_what_looking_at_every_half_millimetre_finds(self, estimate, chart, most) -> None:
        table = size_table([ladder(), chart])
        found = thickness_limits(estimate, table, boot=1, pad=INCOMPRESSIBLE, most_mm=most)
        steps = [THICKNESS_STEP_MM * step for step in range(25) if THICKNESS_STEP_MM * step <= most]
        one_by_one = [
            padded_sizes(estimate, table, boot=1, pad=INCOMPRESSIBLE, thicknesses_mm=[step]) for step in steps
        ]
        first = one_by_one[0]
        moved = [step for step, each in zip(steps, one_by_one, strict=True) if each.best[0] != first.best[0]]
        failing = [
            step for step, each in zip(steps, one_by_one, strict=True) if each.served[0] <= KEEPS * first.served[0]
        ]
        assert found.same_size_mm == (moved[0] - THICKNESS_STEP_MM if moved else steps[-1])
        assert found.serves_mm == (max(0.0, failing[0] - THICKNESS_STEP_MM) if failing else steps[-1])

    @pytest.mark.parametrize(("most", "limit"), [(0.0, 0.0), (0.4, 0.0), (3.0, 3.0), (3.4, 3.0)])
    def test_no_limit_is_above_what_the_maker_allows(self, most: float, limit: float) -> None:
        found = thickness_limits(hoof(115.5, 115.5), TABLE, boot=0, pad=INCOMPRESSIBLE, most_mm=most)
        assert found.serves_mm == limit
        assert found.same_size_mm <= limit

    def test_a_pad_that_lifts_nothing_may_be_as_thick_as_the_maker_allows(self) -> None:
        partial = replace(INCOMPRESSIBLE, kind=PadKind.PARTIAL)
        found = thickness_limits(hoof(104.5, 104.5), TABLE, boot=0, pad=partial, most_mm=9.0)
        assert (found.same_size_mm, found.serves_mm) == (9.0, 9.0)

    def test_a_boot_model_that_serves_a_hoof_in_no_size_takes_no_pad(self) -> None:
        found = thickness_limits(hoof(300.0, 300.0), TABLE, boot=0, pad=INCOMPRESSIBLE, most_mm=4.0)
        assert found.serves_mm == 0.0

    def test_a_boot_model_that_serves_again_beyond_a_gap_between_its_sizes_serves_up_to_the_gap(self) -> None:
        """100–104, then 109–113: with 2.2 mm of lift for a millimetre of width, 104.5 is left behind at about 2 mm."""
        table = size_table([ladder(first=(100.0, 80.0), span=4.0, step=9.0, count=2, chart_step_mm=0.0)])
        uncertain = hoof(103.5, 82.0, sd=0.3)
        found = thickness_limits(uncertain, table, boot=0, pad=INCOMPRESSIBLE, most_mm=20.0)
        beyond = padded_sizes(uncertain, table, boot=0, pad=INCOMPRESSIBLE, thicknesses_mm=[0.0, 15.0])
        assert found.serves_mm < 5.0
        assert beyond.served[1] >= KEEPS * beyond.served[0]

    def test_the_largest_size_has_the_limit_that_its_edge_sets(self) -> None:
        """A known hoof of 110 by 100 in a single size up to 113 (113.5 with its give), by hand: 3.5 mm of width are
        used up by a pad of 3.5 / (2 cot 77°) = 7.58 mm, so 7.5 still fit more often than not."""
        table = size_table([single((100.0, 113.0), (90.0, 140.0))])
        found = thickness_limits(hoof(110.0, 100.0, sd=0.01), table, boot=0, pad=INCOMPRESSIBLE, most_mm=12.0)
        assert found.serves_mm == pytest.approx(7.5, abs=0.5)
        assert found.same_size_mm == 12.0
