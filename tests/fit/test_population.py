"""What hooves are like before they are measured: published groups, and sense within the table."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from scipy.special import ndtr

from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.population import USUAL_MM, population

from .strategies import animal_types, bounded, limbs

KINDS = list(product(AnimalType, Limb))


def ratio_chances(animal_type, *, limb, below, above):
    """Chances that width / length lies below one number and above another: the ratio of a normal pair, linearised
    exactly, since W < rL is a half-plane for positive L."""
    kind = population(animal_type, limb=limb)
    chances = []
    for ratio, sign in ((below, 1.0), (above, -1.0)):
        slope = np.array([1.0, -ratio])
        spread = np.sqrt(slope @ kind.covariance @ slope)
        chances.append(float(ndtr(-sign * (slope @ kind.mean) / spread)))
    return chances


class TestPublishedGroups:
    @pytest.mark.parametrize(("limb", "published"), [(Limb.LF, 1.08), (Limb.LH, 1.00)])
    def test_heavy_horses_have_the_proportion_of_the_young_heavy_horses(self, limb, published):
        """Width over length about 1.08 fore and 1.00 hind (J Equine Vet Sci 2012;32:231)."""
        width, length = population(AnimalType.DRAFT, limb=limb).mean
        assert width / length == pytest.approx(published, abs=0.02)

    @pytest.mark.parametrize(("mean_mm", "sd_mm"), [(136.9, 9.4), (130.1, 8.2)], ids=["before the trim", "after it"])
    def test_the_dareh_shori_soles_are_ordinary_lengths_for_a_horse(self, mean_mm, sd_mm):
        """Sole length 136.9 ± 9.4 mm before and 130.1 ± 8.2 mm after the trim (Iran J Vet Surg, Dareh-Shori)."""
        kind = population(AnimalType.HORSE, limb=Limb.LF)
        spread = float(np.sqrt(kind.covariance[1, 1]))
        assert abs(mean_mm - kind.mean[1]) < 0.6 * spread
        assert spread > sd_mm, "the prior is to be wider than any one group of horses"

    @pytest.mark.parametrize("animal_type", AnimalType)
    def test_fore_hooves_are_no_shorter_and_no_narrower_than_hind_ones(self, animal_type):
        """Fores are usually longer and wider (Sahel J Vet Sci 2024;21:35; Arch Tierz 2008;51:531)."""
        fore, hind = (population(animal_type, limb=limb).mean for limb in (Limb.LF, Limb.LH))
        assert np.all(fore >= hind)


class TestProportion:
    @pytest.mark.parametrize(("limb", "narrow", "wide"), [(Limb.LF, 0.96, 1.06), (Limb.LH, 0.93, 1.03)])
    def test_the_shape_classes_part_horses_into_a_middle_and_two_tails(self, limb, narrow, wide):
        """fit-model section 5: fore narrow < 0.96, wide > 1.06; hind narrow < 0.93, wide > 1.03, as quantiles [C]."""
        too_narrow, too_wide = ratio_chances(AnimalType.HORSE, limb=limb, below=narrow, above=wide)
        assert too_narrow == pytest.approx(too_wide, abs=0.05)
        assert 0.1 < too_narrow < 0.25

    @pytest.mark.parametrize("animal_type", [AnimalType.DONKEY, AnimalType.MULE])
    def test_donkeys_and_mules_are_narrower_than_horses(self, animal_type):
        """Narrow, upright hooves of their own kind (fit-model section 1)."""
        horse, other = (population(kind, limb=Limb.LF).mean for kind in (AnimalType.HORSE, animal_type))
        assert other[0] / other[1] < horse[0] / horse[1]


class TestTable:
    @bounded
    @given(animal_types, limbs)
    def test_size_and_shape_spread_as_stated(self, animal_type, limb):
        kind = population(animal_type, limb=limb)
        middle, across = np.array([0.5, 0.5]), np.array([1.0, -1.0])
        assert np.sqrt(middle @ kind.covariance @ middle) == pytest.approx(0.125 * kind.mean.mean())
        assert np.sqrt(across @ kind.covariance @ across) == pytest.approx(0.055 * kind.mean.mean())

    @pytest.mark.parametrize(("animal_type", "limb"), KINDS)
    def test_left_and_right_are_one_population(self, animal_type, limb):
        other_side = {Limb.LF: Limb.RF, Limb.RF: Limb.LF, Limb.LH: Limb.RH, Limb.RH: Limb.LH}[limb]
        one, other = population(animal_type, limb=limb), population(animal_type, limb=other_side)
        assert one.mean.tolist() == other.mean.tolist()
        assert one.covariance.tolist() == other.covariance.tolist()

    @pytest.mark.parametrize(("animal_type", "limb"), KINDS)
    def test_the_usual_range_holds_nearly_all_of_its_population(self, animal_type, limb):
        """A reading outside the usual range asks for a second look; that must stay rare for sound readings."""
        kind = population(animal_type, limb=limb)
        low, high = USUAL_MM[animal_type]
        spread = np.sqrt(np.diag(kind.covariance))
        assert np.all(ndtr((low - kind.mean) / spread) < 0.025)
        assert np.all(ndtr((kind.mean - high) / spread) < 0.025)
