"""What a reading may be off by: the worked cases of the GUM, and what fit-model section 1 promises."""

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.hoof import AxisReading, HoofState, Method, Observer
from hooflast.fit.uncertainty import (
    BLUNDER_SD_MM,
    METHOD_BIAS_SD_MM,
    METHOD_SD_MM,
    METHOD_WEIGHT_IN_REPEATS,
    drift_covariance,
    reading_error,
    repeatability_uncertainty,
    resolution_uncertainty,
    shared_error,
)
from hooflast.units import Unit, read_length

from .strategies import bounded, read, readings, states

TWENTY_TEMPERATURES = (
    *(96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07),
    *(100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72),
)
"""JCGM 100:2008, 4.4.3, table 1; from memory [M], and in keeping with the mean, s and s/√20 printed there."""

methods = st.sampled_from(Method)


def sound_error(reading):
    """Covariance of a reading without a gross error."""
    return reading_error(reading).covariances[0]


def is_no_smaller(covariance, other) -> bool:
    """Whether the difference of two covariances is a covariance."""
    return float(np.linalg.eigvalsh(covariance - other)[0]) >= -1e-9


class TestRepeats:
    def test_the_twenty_temperatures_of_the_gum_come_out_as_printed(self):
        """JCGM 100:2008, 4.4.3: mean 100.145, s = 1.489, s/√20 = 0.333. A method known to spread by just that s adds
        nothing to it when pooled, so the pooled form has to give the printed value."""
        s = float(np.std(TWENTY_TEMPERATURES, ddof=1))
        assert float(np.mean(TWENTY_TEMPERATURES)) == pytest.approx(100.145, abs=5e-4)
        assert s == pytest.approx(1.489, abs=5e-4)
        assert repeatability_uncertainty(TWENTY_TEMPERATURES, method_sd_mm=s) == pytest.approx(0.333, abs=5e-4)

    @given(method_sd=st.floats(0.3, 3.0))
    def test_many_repeats_speak_for_themselves_whatever_the_method(self, method_sd):
        """s/√n (JCGM 100:2008, 4.2.3) is the limit of the pooled form: the method counts as four degrees of freedom."""
        many = TWENTY_TEMPERATURES * 500
        alone = float(np.std(many, ddof=1)) / sqrt(len(many))
        assert repeatability_uncertainty(many, method_sd_mm=method_sd) == pytest.approx(alone, rel=1e-3)

    @given(method_sd=st.floats(0.1, 4.0), value=st.floats(50.0, 200.0))
    def test_one_reading_has_the_spread_of_its_method(self, method_sd, value):
        assert repeatability_uncertainty((value,), method_sd_mm=method_sd) == pytest.approx(method_sd)

    @given(values=st.lists(st.floats(90.0, 150.0), min_size=2, max_size=12), method_sd=st.floats(0.1, 4.0))
    def test_the_pooled_spread_lies_between_the_sample_s_and_the_method_s(self, values, method_sd):
        sample_sd = float(np.std(values, ddof=1))
        pooled = repeatability_uncertainty(tuple(values), method_sd_mm=method_sd) * sqrt(len(values))
        assert min(sample_sd, method_sd) - 1e-9 <= pooled <= max(sample_sd, method_sd) + 1e-9

    @given(value=st.floats(90.0, 150.0), count=st.integers(2, 10), method_sd=st.floats(0.5, 3.0))
    def test_repeats_that_happen_to_agree_claim_no_certainty(self, value, count, method_sd):
        certain = method_sd / sqrt(count) * sqrt(METHOD_WEIGHT_IN_REPEATS / (METHOD_WEIGHT_IN_REPEATS + count - 1))
        found = repeatability_uncertainty((value,) * count, method_sd_mm=method_sd)
        assert found == pytest.approx(certain)
        assert found > 0.0

    @given(values=st.lists(st.floats(90.0, 150.0), min_size=2, max_size=6), data=st.data())
    def test_the_order_of_repeats_does_not_matter(self, values, data):
        shuffled = data.draw(st.permutations(values))
        assert repeatability_uncertainty(tuple(shuffled), method_sd_mm=1.0) == pytest.approx(
            repeatability_uncertainty(tuple(values), method_sd_mm=1.0)
        )

    @bounded
    @given(method=methods, observer=st.sampled_from(Observer))
    def test_no_number_of_repeats_goes_below_the_method_s_bias(self, method, observer):
        often = read([124.0] * 5000, [127.0] * 5000, resolution_mm=0.1, method=method, observer=observer)
        harder = 1.5 if observer is Observer.OWNER else 1.0
        bias = METHOD_BIAS_SD_MM[method] * np.array([1.0, harder])
        assert is_no_smaller(sound_error(often), np.outer(bias, bias))
        assert np.sqrt(np.diag(sound_error(often))) == pytest.approx(bias, rel=0.05)


class TestResolution:
    def test_a_step_of_one_has_the_gum_s_uncertainty(self):
        """JCGM 100:2008, F.2.2.1: u² = δx²/12, u = 0.29 δx."""
        assert resolution_uncertainty(1.0) ** 2 == pytest.approx(1.0 / 12.0)
        assert resolution_uncertainty(1.0) == pytest.approx(0.29, abs=0.005)

    def test_an_even_distribution_over_the_step_has_that_spread(self):
        """The same by its derivation, JCGM 100:2008, 4.3.7: a/√3 for half the step a."""
        assert resolution_uncertainty(5.0) == pytest.approx(2.5 / sqrt(3.0))

    @bounded
    @given(reading=readings(), coarser=st.floats(1.0, 10.0))
    def test_a_coarser_scale_never_makes_a_reading_surer(self, reading, coarser):
        coarse = replace(reading, width=replace(reading.width, resolution_mm=reading.width.resolution_mm * coarser))
        assert is_no_smaller(sound_error(coarse), sound_error(reading))

    @given(eighths=st.integers(16, 64))
    def test_inches_are_25_4_mm_exactly_in_value_and_in_step(self, eighths):
        """NIST SP 811, appendix B.6."""
        whole, rest = divmod(eighths, 8)
        length = read_length(f"{whole} {rest}/8 in" if rest else f"{whole} in", unit=Unit.MM)
        axis = AxisReading(values_mm=(length.mm,), resolution_mm=length.resolution_mm)
        assert axis.mean_mm == pytest.approx(eighths * 25.4 / 8.0, abs=1e-12)
        assert resolution_uncertainty(axis.resolution_mm) == pytest.approx(25.4 / 8.0 / sqrt(12.0))


class TestMethod:
    @pytest.mark.parametrize("method", Method)
    def test_no_method_claims_more_than_a_skilled_operator_s_tape(self, method):
        """A tape round the hoof in skilled hands repeats within 1.8 mm (repeatability coefficient, 1.96 √2 s;
        Decurnex et al., Equine Vet J 2009)."""
        assert METHOD_SD_MM[method] >= 1.8 / (1.96 * sqrt(2.0))

    def test_an_unknown_method_is_trusted_least(self):
        assert max(METHOD_SD_MM.values()) == METHOD_SD_MM[Method.UNKNOWN]
        assert max(METHOD_BIAS_SD_MM.values()) == METHOD_BIAS_SD_MM[Method.UNKNOWN]

    @bounded
    @given(readings(observers=[Observer.OWNER]))
    def test_an_owner_s_length_is_at_least_half_again_as_uncertain_as_the_width(self, reading):
        as_trimmed_today = replace(reading, states=frozenset(), age_weeks=0.0)
        width_sd, length_sd = np.sqrt(np.diag(sound_error(as_trimmed_today)))
        assert length_sd >= 1.5 * width_sd - 1e-9

    def test_a_professional_reads_both_alike(self):
        width_sd, length_sd = np.sqrt(np.diag(sound_error(read(124.0, 127.0))))
        assert width_sd == pytest.approx(length_sd)

    @bounded
    @given(readings())
    def test_width_and_length_err_the_same_way_by_default(self, reading):
        assert sound_error(reading)[0, 1] > 0.0

    @bounded
    @given(readings())
    def test_an_error_is_a_covariance(self, reading):
        for covariance in reading_error(reading).covariances:
            assert covariance == pytest.approx(covariance.T)
            assert np.linalg.eigvalsh(covariance)[0] > 0.0

    def test_repeats_resolution_and_bias_add_as_variances(self):
        """Four readings by tape that agree, in steps of 5 mm: 2²·4/7/4 + 5²/12, and a bias of 1 that both share."""
        error = sound_error(read([124.0] * 4, [127.0] * 4, resolution_mm=5.0, method=Method.TAPE))
        own = 4.0 * 4.0 / 7.0 / 4.0 + 25.0 / 12.0
        assert error == pytest.approx(np.array([[own + 1.0, 1.0], [1.0, own + 1.0]]))

    def test_a_rough_reading_is_its_method_squared(self):
        error = sound_error(read(124.0, 127.0, resolution_mm=1e-9, method=Method.UNKNOWN))
        assert np.diag(error) == pytest.approx([6.25 + 1.0] * 2)


class TestSharedError:
    """What two readings have in common cancels in their difference."""

    @bounded
    @given(method=methods, observer=st.sampled_from(Observer))
    def test_one_person_s_readings_in_one_way_share_their_bias(self, method, observer):
        one, other = (read(width, 125.0, method=method, observer=observer) for width in (120.0, 130.0))
        bias = METHOD_BIAS_SD_MM[method] * np.array([1.0, 1.5 if observer is Observer.OWNER else 1.0])
        assert shared_error(one, other) == pytest.approx(np.outer(bias, bias))

    @pytest.mark.parametrize("changes", [{"method": Method.RULER}, {"observer": Observer.OWNER}])
    def test_readings_by_two_persons_or_in_two_ways_share_nothing(self, changes):
        one = read(120.0, 125.0)
        assert shared_error(one, replace(one, **changes)).tolist() == [[0.0, 0.0], [0.0, 0.0]]


class TestStateAndAge:
    @bounded
    @given(reading=readings(), more=states)
    def test_a_doubtful_state_only_ever_adds_variance(self, reading, more):
        doubtful = replace(reading, states=reading.states | more)
        assert is_no_smaller(sound_error(doubtful), sound_error(reading))

    @pytest.mark.parametrize("state", HoofState)
    def test_every_state_adds_some(self, state):
        assert np.trace(sound_error(read(124.0, 127.0, states=[state]))) > np.trace(sound_error(read(124.0, 127.0)))

    def test_eight_weeks_spread_either_dimension_by_three_millimetres(self):
        """fit-model section 2: the spread is never below 3 mm per 8 weeks without the horse's own history [C]."""
        assert np.sqrt(np.diag(drift_covariance(8.0))) == pytest.approx([3.0, 3.0])

    @bounded
    @given(reading=readings(), weeks=st.floats(0.0, 30.0))
    def test_a_reading_only_ever_grows_stale(self, reading, weeks):
        older = replace(reading, age_weeks=reading.age_weeks + weeks)
        assert is_no_smaller(sound_error(older), sound_error(reading))

    @bounded
    @given(reading=readings(), factor=st.floats(1.0, 4.0))
    def test_a_hoof_that_changes_faster_grows_stale_as_if_the_reading_were_older(self, reading, factor):
        faster = replace(reading, drift_factor=factor)
        older = replace(reading, age_weeks=reading.age_weeks * factor)
        assert sound_error(faster) == pytest.approx(sound_error(older))

    @given(st.floats(0.0, 500.0))
    def test_growth_moves_both_dimensions_together_but_not_as_one(self, weeks):
        drift = drift_covariance(weeks)
        assert 0.0 <= drift[0, 1] <= drift[0, 0] == drift[1, 1]


class TestGrossErrors:
    @bounded
    @given(readings(observers=[Observer.OWNER]))
    def test_an_owner_may_have_slipped_on_either_dimension_or_on_both(self, reading):
        error = reading_error(reading)
        assert error.chances.sum() == pytest.approx(1.0)
        sound, width, length, both = error.covariances
        assert [
            bool(grown[axis, axis] > sound[axis, axis] + 100.0) for grown in (width, length, both) for axis in (0, 1)
        ] == [
            *(True, False),
            *(False, True),
            *(True, True),
        ]
        assert error.chances[0] > 0.9
        assert error.chances[3] == pytest.approx(error.chances[1] * error.chances[2] / error.chances[0])

    @bounded
    @given(readings(observers=[Observer.OWNER]))
    def test_a_gross_error_has_its_own_spread_on_each_dimension_it_is_on(self, reading):
        sound, *gross = reading_error(reading).covariances
        added = [np.diag(covariance - sound) for covariance in gross]
        gross_variance = BLUNDER_SD_MM**2
        assert added == pytest.approx(
            np.array([[gross_variance, 0.0], [0.0, gross_variance], [gross_variance, gross_variance]]), abs=1e-9
        )

    @bounded
    @given(readings(observers=[Observer.PROFESSIONAL]))
    def test_a_professional_s_reading_is_taken_as_sound(self, reading):
        error = reading_error(reading)
        assert error.chances.tolist() == [1.0]
        assert error.covariances.shape == (1, 2, 2)
