"""What each outcome says of where a hoof lay in the size (fit-model, section 12)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit, logit

from hooflast.fit.outcome import (
    IN_RANGE,
    LOOSE,
    OF_FIT,
    REASONS,
    SIDES,
    TIGHT,
    USUALLY_KEPT,
    USUALLY_KEPT_LOGITS,
    Outcome,
    Side,
    kept_chances,
    told_by,
    told_by_slopes,
)

logits = st.lists(st.floats(-5.0, 5.0), min_size=3, max_size=3).map(np.array)
EVERY = np.arange(len(OF_FIT))


def every_outcome(at: np.ndarray) -> np.ndarray:
    """P(outcome | places) of every outcome of fit, (outcomes, 3, 3)."""
    return told_by(EVERY, logits=np.broadcast_to(at, (len(EVERY), 3)))


def chance(outcome: Outcome) -> np.ndarray:
    return every_outcome(USUALLY_KEPT_LOGITS)[OF_FIT.index(outcome)]


def test_a_boot_that_broke_or_came_back_for_another_reason_says_nothing_of_fit() -> None:
    assert set(Outcome) - set(OF_FIT) == {Outcome.BROKE, Outcome.OTHER}
    assert OF_FIT[0] is Outcome.KEPT


@given(logits)
def test_wherever_the_hoof_lies_one_outcome_comes_about(at: np.ndarray) -> None:
    told = every_outcome(at)
    assert (told >= 0.0).all()
    assert told.sum(axis=0) == pytest.approx(np.ones((3, 3)))


@given(logits)
def test_a_boot_is_kept_by_the_sides_it_errs_on(at: np.ndarray) -> None:
    fine, loose, tight = expit(at)
    kept = kept_chances(at)
    assert kept[IN_RANGE, IN_RANGE] == pytest.approx(fine)
    for place in ((LOOSE, IN_RANGE), (IN_RANGE, LOOSE), (LOOSE, LOOSE)):
        assert kept[place] == pytest.approx(fine * loose)
    for place in ((TIGHT, IN_RANGE), (IN_RANGE, TIGHT), (TIGHT, TIGHT)):
        assert kept[place] == pytest.approx(fine * tight)
    for place in ((LOOSE, TIGHT), (TIGHT, LOOSE)):
        assert kept[place] == pytest.approx(fine * loose * tight)


def test_people_keep_loose_boots_sooner_than_tight_ones() -> None:
    assert USUALLY_KEPT[Side.TIGHT] < USUALLY_KEPT[Side.LOOSE] < USUALLY_KEPT[Side.FINE] < 1.0
    assert pytest.approx(logit([USUALLY_KEPT[side] for side in SIDES])) == USUALLY_KEPT_LOGITS


@pytest.mark.parametrize("outcome", [Outcome.TOO_SMALL, Outcome.TOO_LARGE, Outcome.RUBBED, Outcome.WRONG_SHAPE])
def test_these_words_do_not_say_on_which_axis(outcome: Outcome) -> None:
    reason = REASONS[:, :, OF_FIT.index(outcome) - 1]
    assert (reason == reason.T).all()


def test_a_boot_that_turned_points_to_loose_width_and_one_that_came_off_to_loose_length() -> None:
    turned, came_off = chance(Outcome.TURNED), chance(Outcome.CAME_OFF)
    assert turned[LOOSE, IN_RANGE] > turned[IN_RANGE, LOOSE] > turned[IN_RANGE, IN_RANGE]
    assert came_off[IN_RANGE, LOOSE] > came_off[LOOSE, IN_RANGE] > came_off[IN_RANGE, IN_RANGE]
    assert turned[LOOSE, IN_RANGE] == turned.max()
    assert came_off[IN_RANGE, LOOSE] == came_off.max()


def test_wrong_shape_is_a_tight_axis_beside_a_loose_one() -> None:
    wrong = chance(Outcome.WRONG_SHAPE)
    opposite = {(LOOSE, TIGHT), (TIGHT, LOOSE)}
    others = [wrong[place] for place in np.ndindex(3, 3) if place not in opposite]
    assert min(wrong[place] for place in opposite) > 10.0 * max(others)


def test_too_small_is_said_of_tight_boots_and_too_large_of_loose_ones() -> None:
    small, large = chance(Outcome.TOO_SMALL), chance(Outcome.TOO_LARGE)
    tight = [(TIGHT, IN_RANGE), (IN_RANGE, TIGHT), (TIGHT, TIGHT)]
    loose = [(LOOSE, IN_RANGE), (IN_RANGE, LOOSE), (LOOSE, LOOSE)]
    assert min(small[place] for place in tight) > 10.0 * max(small[place] for place in [*loose, (IN_RANGE, IN_RANGE)])
    assert min(large[place] for place in loose) > 10.0 * max(large[place] for place in [*tight, (IN_RANGE, IN_RANGE)])


def test_a_return_of_a_boot_that_fits_points_nowhere() -> None:
    assert pytest.approx(np.full(6, 1 / 6)) == REASONS[IN_RANGE, IN_RANGE]


@given(logits)
def test_slopes_are_those_of_the_chances(at: np.ndarray) -> None:
    first, second = told_by_slopes(EVERY, logits=np.broadcast_to(at, (len(EVERY), 3)))
    step = 1e-5
    for side in range(3):
        aside = step * np.eye(3)[side]
        numeric = (every_outcome(at + aside) - every_outcome(at - aside)) / (2.0 * step)
        assert first[:, side] == pytest.approx(numeric, abs=1e-8)
        above, below = (
            told_by_slopes(EVERY, logits=np.broadcast_to(at + aside * sign, (len(EVERY), 3)))[0] for sign in (1, -1)
        )
        assert second[:, side] == pytest.approx((above - below) / (2.0 * step), abs=1e-8)
