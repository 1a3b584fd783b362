"""Estimate: a reading weighed against its population, giving the hoof as a distribution over (width, length)."""

from dataclasses import dataclass

import numpy as np

from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.uncertainty import ALLOWANCE_SD_SHARE, reading_error


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A mixture of K bivariate normals over (width, length): weights (K,), means (K, 2), covariances (K, 2, 2); mm.

    Several estimates that differ in the readings' values alone have a leading axis in their weights and means.
    """

    weights: Floats
    means: Floats
    covariances: Floats

    @property
    def mean(self) -> Floats:
        """Mean of the whole mixture, shape (2,)."""
        middle: Floats = self.weights @ self.means
        return middle

    @property
    def covariance(self) -> Floats:
        """Covariance of the whole mixture, shape (2, 2): within the parts plus between them."""
        apart = self.means - self.mean
        between = np.einsum("k,ki,kj->ij", self.weights, apart, apart)
        covariance: Floats = np.einsum("k,kij->ij", self.weights, self.covariances) + between
        return covariance

    def changed(self, *, by_mm: Floats, covariance: Floats) -> "Estimate":
        """The hoof after an independent normal change of mean `by_mm` (2,), mm, and covariance (2, 2), mm²."""
        return Estimate(weights=self.weights, means=self.means + by_mm, covariances=self.covariances + covariance)

    def apart(self) -> list["Estimate"]:
        """Several estimates in one, each on its own."""
        return [
            Estimate(weights=weights, means=means, covariances=self.covariances)
            for weights, means in zip(self.weights, self.means, strict=True)
        ]


def estimate_hoof(reading: HoofReading, *, animal_type: AnimalType) -> Estimate:
    """Bayes' rule for the hoof behind a reading.

    With prior N(μ, P) and reading error N(0, R_k) of chance π_k: mean μ + G_k(y − μ), covariance P − G_k P,
    G_k = P(P + R_k)⁻¹, weight ∝ π_k N(y; μ, P + R_k). Without the prior a reading far from the usual proportion would
    be taken at its word, and learning from outcomes would be biased (fit-model section 12). What is worn on the hoof
    inside the boot is added last, on both sides of either dimension.
    """
    (estimate,) = estimates_if_read(reading, animal_type=animal_type, changes_mm=np.zeros((1, 2))).apart()
    return estimate


def estimates_if_read(reading: HoofReading, *, animal_type: AnimalType, changes_mm: Floats) -> Estimate:
    """The hoof's estimates, D in one, had its width and length been read differently by each of `changes_mm` (D, 2)."""
    kind = population(animal_type, limb=reading.limb)
    error = reading_error(reading)
    apart = np.array([reading.width.mean_mm, reading.length.mean_mm]) + changes_mm - kind.mean
    predicted = kind.covariance + error.covariances
    precision = np.linalg.inv(predicted)
    gain = kind.covariance @ precision
    surprise = np.einsum("di,kij,dj->dk", apart, precision, apart)
    log_weight = np.log(error.chances) - 0.5 * (surprise + np.log(np.linalg.det(predicted)))
    weights = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    worn = 2.0 * reading.allowance_mm
    covariances = kind.covariance - gain @ kind.covariance
    covariances = (covariances + covariances.swapaxes(-1, -2)) / 2.0 + (ALLOWANCE_SD_SHARE * worn) ** 2 * np.eye(2)
    means = kind.mean + np.einsum("kij,dj->dki", gain, apart) + worn
    return Estimate(weights=weights / weights.sum(axis=1, keepdims=True), means=means, covariances=covariances)
