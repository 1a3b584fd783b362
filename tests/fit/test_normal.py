"""The bivariate normal distribution function: published values, two independent quadratures, and its laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from hooflast.fit.normal import bivariate_normal_cdf

from .reference import cdf_by_quadrature
from .strategies import bounded

EXACT = 1e-14

ordinary = st.floats(-9.0, 9.0)
nasty = st.sampled_from([0.0, -0.0, 5e-324, -1e-310, 1e-200, -1e-200, 1e-16, 37.0, -39.0, 1e8, -1e8, np.inf, -np.inf])
arguments = ordinary | nasty
near_one = st.integers(1, 15).map(lambda digits: 1.0 - 10.0**-digits)
inner_correlations = (
    st.floats(-1.0, 1.0, exclude_min=True, exclude_max=True) | near_one | near_one.map(lambda rho: -rho)
)
correlations = inner_correlations | st.sampled_from([-1.0, 0.0, 1.0])


def cdf(h: float, k: float, rho: float) -> float:
    return float(bivariate_normal_cdf(np.array(h), np.array(k), correlation=np.array(rho)))


class TestPublishedValues:
    @pytest.mark.parametrize("zero", [0.0, -0.0, 1e-320, 1e-200, -1e-200])
    @pytest.mark.parametrize("rho", [-1.0, -0.99, -0.5, 0.0, 0.3, 0.5, 0.9, 1.0])
    def test_the_quadrant_at_the_mean_follows_sheppard(self, zero, rho):
        """P(X ≤ 0, Y ≤ 0) = 1/4 + arcsin(ρ)/2π: W. F. Sheppard, Phil. Trans. R. Soc. A 192 (1899) 101-167."""
        assert cdf(zero, zero, rho) == pytest.approx(0.25 + np.arcsin(rho) / (2 * np.pi), abs=EXACT)

    @bounded
    @given(ordinary, ordinary, st.floats(-0.99, 0.99))
    def test_it_grows_with_the_correlation_by_the_density_as_plackett_found(self, h, k, rho):
        """∂Φ₂/∂ρ is the joint density at (h, k): R. L. Plackett, Biometrika 41 (1954) 351-360."""

        def density(r: float) -> float:
            spread = (1.0 - r) * (1.0 + r)
            return float(np.exp(-(h * h - 2.0 * r * h * k + k * k) / (2.0 * spread)) / (2.0 * np.pi * np.sqrt(spread)))

        grown, _ = quad(density, 0.0, rho, epsabs=1e-13, limit=200)
        assert cdf(h, k, rho) == pytest.approx(cdf(h, k, 0.0) + grown, abs=1e-12)

    @bounded
    @given(arguments, arguments, inner_correlations, inner_correlations)
    def test_more_correlation_never_makes_both_less_likely(self, h, k, one, other):
        """D. Slepian, Bell Syst. Tech. J. 41 (1962) 463-501."""
        less, more = sorted([one, other])
        assert cdf(h, k, less) <= cdf(h, k, more) + EXACT

    @bounded
    @given(arguments, arguments, correlations)
    def test_it_keeps_the_bounds_that_hold_for_any_joint_distribution(self, h, k, rho):
        """M. Fréchet, Ann. Univ. Lyon A 14 (1951) 53-77."""
        both = cdf(h, k, rho)
        assert max(0.0, ndtr(h) + ndtr(k) - 1.0) - EXACT <= both <= min(ndtr(h), ndtr(k)) + EXACT


class TestAgainstOtherComputations:
    @bounded
    @given(ordinary, ordinary, inner_correlations)
    def test_it_is_the_integral_of_the_conditional_distribution(self, h, k, rho):
        assert cdf(h, k, rho) == pytest.approx(cdf_by_quadrature(h, k, correlation=rho), abs=2e-14)

    @bounded
    @given(ordinary, ordinary, st.floats(-0.999, 0.999))
    def test_it_agrees_with_scipy(self, h, k, rho):
        assert cdf(h, k, rho) == pytest.approx(multivariate_normal.cdf([h, k], cov=[[1, rho], [rho, 1]]), abs=1e-9)

    @pytest.mark.parametrize(("h", "k", "rho"), [(0.4, -0.7, 0.6), (-1.2, 2.1, -0.8), (0.0, 1.5, 0.3)])
    def test_it_is_the_integral_of_the_density_over_the_quadrant(self, h, k, rho):
        def density(y: float, x: float) -> float:
            spread = 1.0 - rho**2
            return float(np.exp(-(x * x - 2 * rho * x * y + y * y) / (2 * spread)) / (2 * np.pi * np.sqrt(spread)))

        found, _ = dblquad(density, -8.0, h, -8.0, k, epsabs=1e-10)
        assert cdf(h, k, rho) == pytest.approx(found, abs=1e-9)


class TestLaws:
    @bounded
    @given(arguments, arguments, correlations)
    def test_the_order_of_the_two_does_not_matter(self, h, k, rho):
        assert cdf(h, k, rho) == pytest.approx(cdf(k, h, rho), abs=EXACT)

    @bounded
    @given(arguments, arguments, correlations)
    def test_turning_one_over_gives_what_is_left_of_the_other(self, h, k, rho):
        assert cdf(h, k, rho) + cdf(h, -k, -rho) == pytest.approx(ndtr(h), abs=EXACT)

    @bounded
    @given(arguments, arguments, arguments, correlations)
    def test_more_room_is_never_less_likely(self, h, k, further, rho):
        near, far = sorted([h, further])
        assert cdf(near, k, rho) <= cdf(far, k, rho) + EXACT

    @bounded
    @given(arguments, arguments)
    def test_independent_chances_multiply(self, h, k):
        assert cdf(h, k, 0.0) == pytest.approx(ndtr(h) * ndtr(k), abs=EXACT)

    @bounded
    @given(arguments, arguments)
    def test_under_a_correlation_of_one_the_smaller_decides(self, h, k):
        assert cdf(h, k, 1.0) == pytest.approx(min(ndtr(h), ndtr(k)), abs=EXACT)

    @bounded
    @given(arguments, arguments)
    def test_under_a_correlation_of_minus_one_only_the_overlap_is_left(self, h, k):
        assert cdf(h, k, -1.0) == pytest.approx(max(0.0, ndtr(h) - ndtr(-k)), abs=EXACT)

    @bounded
    @given(arguments, correlations)
    def test_a_side_without_bound_leaves_the_other_alone(self, h, rho):
        assert cdf(h, np.inf, rho) == pytest.approx(ndtr(h), abs=EXACT)
        assert cdf(h, -np.inf, rho) == pytest.approx(0.0, abs=EXACT)

    def test_arrays_broadcast_and_agree_with_one_at_a_time(self):
        h, k, rho = np.array([[-1.0], [0.5]]), np.array([0.0, 2.0, -3.0]), np.array([0.1, -0.6, 0.9])
        together = bivariate_normal_cdf(h, k, correlation=rho)
        assert together.shape == (2, 3)
        one_by_one = [[cdf(float(a), float(b), float(r)) for b, r in zip(k, rho, strict=True)] for (a,) in h]
        assert together == pytest.approx(np.array(one_by_one), abs=EXACT)

    @pytest.mark.filterwarnings("error")
    @bounded
    @given(arguments, arguments, correlations)
    def test_nothing_is_ever_undefined(self, h, k, rho):
        assert 0.0 <= cdf(h, k, rho) <= 1.0
