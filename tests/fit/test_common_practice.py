"""What the trade expects of a fit. All of it is common practice, no source."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, HoofState, Limb, Method, Observer
from hooflast.fit.layout import lay_out_sizes
from hooflast.fit.match import BootMatch, match_hoof
from hooflast.fit.population import population
from hooflast.fit.sizes import BootChart, size_table

from .strategies import bounded, closures, known, ladder, read, single


def best_of(reading, boot: BootChart, *, animal_type: AnimalType = AnimalType.HORSE) -> tuple[BootMatch, float]:
    """The boot model as matched, with the fit chance of its best size."""
    estimate = estimate_hoof(reading, animal_type=animal_type)
    match = match_hoof(estimate, lay_out_sizes(size_table([boot])), boots=np.array([0]), wish_rank=[0])
    (found,) = match.boots
    return found, float(match.fit_chances[found.best])


def fit_chance(estimate: Estimate, boot: BootChart) -> float:
    """Of a boot model with one size."""
    table = size_table([boot])
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return float(expected_worth(corners, steps=ACCEPTED)[0])


def round_boot(closure: Closure) -> BootChart:
    """As wide as long, in sizes that overlap by half."""
    return ladder(closure=closure, first=(90.0, 90.0), span=9.0, step=5.0, count=14)


class TestShape:
    @bounded
    @given(length=st.floats(110.0, 130.0), closure=closures)
    def test_a_short_wide_foot_asks_a_round_boot_for_more_by_width_than_by_length(self, length, closure):
        """Common practice, no source: short wide feet want boots made wide (fit-model section 5)."""
        found, _ = best_of(read(length + 8.0, length), round_boot(closure))
        assert found.by_width > found.by_length

    @bounded
    @given(length=st.floats(115.0, 135.0), closure=closures)
    def test_a_long_narrow_foot_is_looser_in_width_than_in_length_in_a_round_boot(self, length, closure):
        """Common practice, no source: long narrow feet turn in round boots (fit-model section 5)."""
        found, _ = best_of(read(length - 8.0, length), round_boot(closure))
        assert found.by_width < found.by_length

    @pytest.mark.parametrize("animal_type", AnimalType)
    def test_a_hind_is_judged_against_a_narrower_hoof_than_a_fore(self, animal_type):
        """Common practice, no source: hinds are narrower. The same doubtful reading is believed narrower of a hind."""
        fore, hind = (population(animal_type, limb=limb).mean for limb in (Limb.RF, Limb.RH))
        assert hind[0] / hind[1] < fore[0] / fore[1]
        width, length = fore
        believed = [
            estimate_hoof(
                read(width, length, limb=limb, method=Method.UNKNOWN, observer=Observer.OWNER), animal_type=animal_type
            ).mean
            for limb in (Limb.RF, Limb.RH)
        ]
        assert believed[1][0] - believed[1][1] < believed[0][0] - believed[0][1]


class TestDoubt:
    @pytest.mark.parametrize("state", HoofState)
    def test_a_fault_of_the_trim_or_of_the_reading_lowers_confidence(self, state):
        """Common practice, no source: a long toe, a high heel, a flare or a dirty sole spoils the measure."""
        boot = round_boot(Closure.PULL_ON)
        _, clean = best_of(read(121.0, 121.0), boot)
        _, doubtful = best_of(read(121.0, 121.0, states=[state]), boot)
        assert doubtful < clean - 0.01

    def test_a_long_toe_leaves_the_length_in_more_doubt_than_the_width(self):
        """Common practice, no source."""
        plain, long_toe = (
            estimate_hoof(read(121.0, 121.0, states=states), animal_type=AnimalType.HORSE).covariance
            for states in ((), (HoofState.LONG_TOE,))
        )
        widened = np.sqrt(np.diag(long_toe)) - np.sqrt(np.diag(plain))
        assert widened[1] > 2.0 * widened[0] >= 0.0

    def test_an_old_reading_is_no_longer_relied_on(self):
        """Common practice, no source: measure afresh before ordering."""
        boot = round_boot(Closure.PULL_ON)
        chances = [best_of(read(121.0, 121.0, age_weeks=weeks), boot)[1] for weeks in (0.0, 4.0, 8.0, 16.0)]
        assert chances == sorted(chances, reverse=True)
        assert chances[-1] < 0.7 * chances[0]


class TestClosures:
    def test_a_strap_takes_up_looseness_that_a_pull_on_does_not(self):
        """Common practice, no source: two millimetres below the range on both axes."""
        chances = {
            closure: fit_chance(known(118.0, 118.0), single((120.0, 129.0), (120.0, 129.0), closure=closure))
            for closure in Closure
        }
        assert chances[Closure.STRAP] > 0.2
        assert chances[Closure.PULL_ON] < 0.02
        assert chances[Closure.PULL_ON] < chances[Closure.BUCKLE] < chances[Closure.LACE]

    @bounded
    @given(closures)
    def test_no_closure_helps_a_boot_that_is_too_short(self, closure):
        """Common practice, no source."""
        short = single((110.0, 125.0), (110.0, 119.0), closure=closure)
        assert fit_chance(known(118.0, 123.0), short) < 1e-3
