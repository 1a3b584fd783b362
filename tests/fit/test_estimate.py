"""Reading and population joined: Bayes' rule, by grid and by simulation, and what follows from it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from hooflast.fit.estimate import estimate_hoof, estimates_if_read
from hooflast.fit.hoof import AnimalType, HoofState, Limb, Method, Observer
from hooflast.fit.population import population
from hooflast.fit.uncertainty import ALLOWANCE_SD_SHARE, reading_error

from .reference import sample
from .strategies import animal_types, bounded, limbs, mixtures, read, readings

MANY = 200_000

ASKED = {
    "a calliper in a professional's hand": (read(124.0, 127.0), AnimalType.HORSE),
    "an owner who does not say how": (
        read(131.0, 118.0, method=Method.UNKNOWN, observer=Observer.OWNER),
        AnimalType.HORSE,
    ),
    "an owner's slip of thirty millimetres": (
        read(154.0, 124.0, method=Method.RULER, observer=Observer.OWNER),
        AnimalType.HORSE,
    ),
    "a donkey's hind hoof, old and flared": (
        read(
            [96.0, 99.0],
            [101.0, 98.0],
            limb=Limb.RH,
            method=Method.TAPE,
            observer=Observer.OWNER,
            states=[HoofState.FLARE, HoofState.LONG_TOE],
            age_weeks=12.0,
        ),
        AnimalType.DONKEY,
    ),
}
asked = pytest.mark.parametrize(("reading", "animal_type"), ASKED.values(), ids=ASKED.keys())


def likelihood(reading, hooves):
    """Density of the reading for each of many hooves (…, 2), up to a factor."""
    error = reading_error(reading)
    seen = np.array([reading.width.mean_mm, reading.length.mean_mm])
    parts = zip(error.chances, error.covariances, strict=True)
    return sum(chance * multivariate_normal(cov=covariance).pdf(hooves - seen) for chance, covariance in parts)


def moments(hooves, weights):
    weights = weights / weights.sum()
    mean = np.einsum("n,ni->i", weights, hooves)
    return mean, np.einsum("n,ni,nj->ij", weights, hooves - mean, hooves - mean)


class TestBayesRule:
    @asked
    def test_it_agrees_with_every_hoof_weighed_one_by_one(self, reading, animal_type):
        """Prior times likelihood at a quarter of a million hooves on a lattice, to 0.01 mm."""
        kind = population(animal_type, limb=reading.limb)
        found = estimate_hoof(reading, animal_type=animal_type)
        reach = 12.0 * np.sqrt(np.diag(found.covariance))
        axes = [np.linspace(middle - far, middle + far, 500) for middle, far in zip(found.mean, reach, strict=True)]
        hooves = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
        prior = multivariate_normal(kind.mean, kind.covariance).pdf(hooves)
        mean, covariance = moments(hooves, prior * likelihood(reading, hooves))
        assert found.mean == pytest.approx(mean, abs=0.01)
        assert found.covariance == pytest.approx(covariance, abs=0.02, rel=2e-3)

    @asked
    def test_it_agrees_with_hooves_drawn_from_the_population(self, reading, animal_type):
        """Importance sampling: hooves of the population, weighed by the likelihood of the reading; within five
        standard errors of the sampling."""
        kind = population(animal_type, limb=reading.limb)
        hooves = np.random.default_rng(7).multivariate_normal(kind.mean, kind.covariance, size=MANY)
        weights = likelihood(reading, hooves)
        mean, _ = moments(hooves, weights)
        found = estimate_hoof(reading, animal_type=animal_type)
        effective = weights.sum() ** 2 / (weights**2).sum()
        assert effective > 300.0
        assert np.all(np.abs(found.mean - mean) < 5.0 * np.sqrt(np.diag(found.covariance) / effective))

    @bounded
    @given(readings(), animal_types)
    def test_every_part_is_surer_than_the_population_and_than_its_reading(self, reading, animal_type):
        kind, error = population(animal_type, limb=reading.limb), reading_error(reading)
        found = estimate_hoof(reading, animal_type=animal_type)
        assert found.weights.sum() == pytest.approx(1.0)
        assert found.covariances.tolist() == found.covariances.swapaxes(1, 2).tolist()
        for posterior, likelihood_covariance in zip(found.covariances, error.covariances, strict=True):
            assert np.linalg.eigvalsh(posterior)[0] > 0.0
            assert np.linalg.eigvalsh(kind.covariance - posterior)[0] > -1e-9
            assert np.linalg.eigvalsh(likelihood_covariance - posterior)[0] > -1e-9

    @bounded
    @given(readings(), animal_types)
    def test_a_reading_ten_years_old_says_nothing(self, reading, animal_type):
        kind = population(animal_type, limb=reading.limb)
        found = estimate_hoof(replace(reading, age_weeks=520.0), animal_type=animal_type)
        assert np.abs(found.mean - kind.mean) == pytest.approx(0.0, abs=0.05 * kind.mean.mean())
        assert np.diag(found.covariance) == pytest.approx(np.diag(kind.covariance), rel=0.05)


class TestMixture:
    @bounded
    @given(mixtures())
    def test_the_moments_are_those_of_all_parts_together(self, mixed):
        hooves = sample(mixed, count=20_000, rng=np.random.default_rng(3))
        spread = np.sqrt(np.diag(mixed.covariance))
        assert np.all(np.abs(hooves.mean(axis=0) - mixed.mean) < 6.0 * spread / np.sqrt(len(hooves)))
        second_moment = sum(
            weight * (covariance + np.outer(mean, mean))
            for weight, mean, covariance in zip(mixed.weights, mixed.means, mixed.covariances, strict=True)
        )
        assert mixed.covariance == pytest.approx(second_moment - np.outer(mixed.mean, mixed.mean), abs=1e-8)


class TestGrossErrors:
    @pytest.mark.parametrize("axis", [0, 1], ids=["width", "length"])
    @pytest.mark.parametrize("slip", [-40.0, 40.0])
    def test_a_gross_slip_on_one_dimension_is_pulled_back_by_the_other(self, axis, slip):
        """An owner's slip of 40 mm loses most of its weight, being out of all proportion; the other dimension moves
        a little with it, as hooves that are wide are mostly long."""
        sound, slipped = [124.0, 126.0], [124.0, 126.0]
        slipped[axis] += slip
        found, truth = (
            estimate_hoof(read(*sizes, method=Method.RULER, observer=Observer.OWNER), animal_type=AnimalType.HORSE)
            for sizes in (slipped, sound)
        )
        assert abs(found.mean[axis] - truth.mean[axis]) < 0.5 * abs(slip)
        assert abs(found.mean[1 - axis] - truth.mean[1 - axis]) < 0.15 * abs(slip)
        assert found.weights[0] < 0.15, "a sound reading is no longer believed"
        assert found.weights[1 + axis] == max(found.weights), "but a gross error on that dimension"
        assert found.covariance[axis, axis] > 4.0 * truth.covariance[axis, axis]

    def test_the_same_reading_is_believed_when_a_professional_took_it(self):
        owner, professional = (
            estimate_hoof(read(164.0, 126.0, observer=observer), animal_type=AnimalType.HORSE).mean[0]
            for observer in (Observer.OWNER, Observer.PROFESSIONAL)
        )
        assert professional > 159.0
        assert owner < professional - 10.0

    @bounded
    @given(st.floats(105.0, 150.0))
    def test_an_ordinary_owner_s_reading_counts_as_sound(self, size):
        reading = read(size, size, method=Method.RULER, observer=Observer.OWNER)
        assert estimate_hoof(reading, animal_type=AnimalType.HORSE).weights[0] > 0.95


class TestReadOtherwise:
    """The estimates of a reading had it been another."""

    CHANGES = np.array([[0.0, 0.0], [3.0, 0.0], [0.0, -7.5], [-40.0, 25.0]])

    @bounded
    @given(readings(), animal_types)
    def test_each_is_the_estimate_of_the_reading_so_changed(self, reading, animal_type):
        together = estimates_if_read(reading, animal_type=animal_type, changes_mm=self.CHANGES).apart()
        assert len(together) == len(self.CHANGES)
        for (wider, longer), one in zip(self.CHANGES, together, strict=True):
            changed = replace(
                reading,
                width=replace(reading.width, values_mm=tuple(value + wider for value in reading.width.values_mm)),
                length=replace(reading.length, values_mm=tuple(value + longer for value in reading.length.values_mm)),
            )
            alone = estimate_hoof(changed, animal_type=animal_type)
            assert one.weights == pytest.approx(alone.weights, abs=1e-9)
            assert one.means == pytest.approx(alone.means, abs=1e-6)
            assert one.covariances == pytest.approx(alone.covariances)

    @pytest.mark.parametrize("observer", Observer)
    def test_readings_no_hoof_has_are_still_weighed(self, observer):
        """Each on its own: the likeliest of its parts counts, however unlikely all of them are."""
        far = np.array([[0.0, 0.0], [900.0, -900.0]])
        together = estimates_if_read(
            read(124.0, 126.0, observer=observer), animal_type=AnimalType.HORSE, changes_mm=far
        )
        assert together.weights.sum(axis=1) == pytest.approx([1.0, 1.0])


class TestChanged:
    def test_a_change_moves_every_part_and_makes_it_less_sure(self):
        """By the rule for the sum of independent normals, part by part."""
        one = estimate_hoof(read(124.0, 127.0, observer=Observer.OWNER), animal_type=AnimalType.HORSE)
        covariance = np.array([[2.0, -0.5], [-0.5, 1.0]])
        after = one.changed(by_mm=np.array([1.5, -2.0]), covariance=covariance)
        assert after.weights.tolist() == one.weights.tolist()
        assert after.means - one.means == pytest.approx(np.tile([1.5, -2.0], (4, 1)))
        assert after.covariances - one.covariances == pytest.approx(np.tile(covariance, (4, 1, 1)))


class TestWhatDoesNotMatter:
    @bounded
    @given(readings(), animal_types)
    def test_left_and_right_are_judged_alike(self, reading, animal_type):
        other_side = {Limb.LF: Limb.RF, Limb.RF: Limb.LF, Limb.LH: Limb.RH, Limb.RH: Limb.LH}[reading.limb]
        one, other = (
            estimate_hoof(replace(reading, limb=limb), animal_type=animal_type) for limb in (reading.limb, other_side)
        )
        assert one.means.tolist() == other.means.tolist()
        assert one.covariances.tolist() == other.covariances.tolist()

    @bounded
    @given(readings(), animal_types)
    def test_the_same_reading_gives_the_same_estimate_to_the_last_bit(self, reading, animal_type):
        one, again = (estimate_hoof(reading, animal_type=animal_type) for _ in range(2))
        assert one.weights.tobytes() == again.weights.tobytes()
        assert one.means.tobytes() == again.means.tobytes()
        assert one.covariances.tobytes() == again.covariances.tobytes()

    @bounded
    @given(reading=readings(), animal_type=animal_types, data=st.data())
    def test_the_order_of_repeats_does_not_matter(self, reading, animal_type, data):
        values = tuple(data.draw(st.permutations(reading.width.values_mm)))
        shuffled = replace(reading, width=replace(reading.width, values_mm=values))
        one, other = (estimate_hoof(each, animal_type=animal_type) for each in (reading, shuffled))
        assert one.mean == pytest.approx(other.mean, abs=1e-9)
        assert one.covariance == pytest.approx(other.covariance, abs=1e-9)


class TestWornInside:
    @bounded
    @given(readings(), animal_types, st.floats(0.5, 10.0))
    def test_what_is_worn_inside_the_boot_adds_on_both_sides_and_leaves_less_sure(
        self, reading, animal_type, allowance
    ):
        """A bandage on a hoof is no part of the hoof: the reading is weighed without it."""
        bare, worn = (
            estimate_hoof(replace(reading, allowance_mm=each), animal_type=animal_type) for each in (0.0, allowance)
        )
        assert worn.weights.tolist() == bare.weights.tolist()
        assert worn.mean == pytest.approx(bare.mean + 2.0 * allowance)
        unsure = (ALLOWANCE_SD_SHARE * 2.0 * allowance) ** 2
        assert worn.covariances - bare.covariances == pytest.approx(
            np.tile(unsure * np.eye(2), (len(bare.weights), 1, 1))
        )
        assert np.linalg.eigvalsh(worn.covariance - bare.covariance)[0] > 0.0


class TestShrinkage:
    @bounded
    @given(readings(observers=[Observer.PROFESSIONAL]), animal_types)
    def test_a_reading_is_drawn_towards_the_proportion_of_its_kind(self, reading, animal_type):
        """Along the axis of shape, W − L against the population's: the estimate keeps its side and comes nearer, but
        for what size alone pulls along, since width and length are not read equally well."""
        even = replace(reading, length=replace(reading.length, resolution_mm=reading.width.resolution_mm))
        even = replace(even, states=frozenset(), length=replace(even.length, values_mm=even.length.values_mm[:1]))
        even = replace(even, width=replace(even.width, values_mm=even.width.values_mm[:1]))
        kind, found = population(animal_type, limb=reading.limb), estimate_hoof(even, animal_type=animal_type)
        usual = kind.mean[0] - kind.mean[1]
        seen = even.width.mean_mm - even.length.mean_mm - usual
        believed = found.mean[0] - found.mean[1] - usual
        assert abs(believed) <= abs(seen) + 1e-9
        assert believed * seen >= -1e-9

    @bounded
    @given(limb=limbs, apart=st.floats(5.0, 25.0))
    def test_the_less_sure_reading_is_drawn_further(self, limb, apart):
        sure, unsure = (
            estimate_hoof(read(125.0 + apart, 125.0, limb=limb, method=method), animal_type=AnimalType.HORSE)
            for method in (Method.CALLIPER, Method.UNKNOWN)
        )
        assert unsure.mean[0] - unsure.mean[1] < sure.mean[0] - sure.mean[1] < apart
