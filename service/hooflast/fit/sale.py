"""Sale: one boot on one hoof and what became of it; many of them as arrays."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import AnimalType, HoofReading, Limb
from hooflast.fit.normal import Floats
from hooflast.fit.outcome import OF_FIT, Outcome, ReadingGroup
from hooflast.fit.population import population
from hooflast.fit.sizes import SizeTable
from hooflast.fit.uncertainty import reading_error

OUTER: Final = (0, 3)
"""The loose and the tight edge among the four of a size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """One boot on one hoof, and what became of it.

    `gains` (K, 2, 2) are the weights that the parts of the estimate give the reading. `size` is a row of the size
    table. Sales of one `order` stand and fall together; None: an order of its own.
    """

    estimate: Estimate
    gains: Floats
    size: int
    group: ReadingGroup
    outcome: Outcome
    order: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sales:
    """N sales whose outcomes say something of fit, as arrays.

    weights (N, K), means (N, K, 2), covariances (N, K, 2, 2), gains (N, K, 2, 2): the hooves, parts of no weight added
    edges_mm, edge_sd_mm (N, 2, 3): −∞, the loose and the tight edge of the size taken, and their deviations
    sizes (N,), outcomes (N,): row of the table, index into OF_FIT
    groups: the readings' groups
    """

    weights: Floats
    means: Floats
    covariances: Floats
    gains: Floats
    edges_mm: Floats
    edge_sd_mm: Floats
    sizes: NDArray[np.intp]
    outcomes: NDArray[np.intp]
    groups: tuple[ReadingGroup, ...]

    def only(self, rows: NDArray[np.intp]) -> "Sales":
        """Some of the sales."""
        return Sales(
            weights=self.weights[rows],
            means=self.means[rows],
            covariances=self.covariances[rows],
            gains=self.gains[rows],
            edges_mm=self.edges_mm[rows],
            edge_sd_mm=self.edge_sd_mm[rows],
            sizes=self.sizes[rows],
            outcomes=self.outcomes[rows],
            groups=tuple(self.groups[row] for row in rows),
        )


def reading_gains(reading: HoofReading, *, animal_type: AnimalType) -> Floats:
    """The weight G_k = P(P + R_k)⁻¹ that `estimate_hoof` gives a reading, for each part of it, shape (K, 2, 2)."""
    prior = population(animal_type, limb=reading.limb).covariance
    gains: Floats = prior @ np.linalg.inv(prior + reading_error(reading).covariances)
    return gains


def estimate_gains(estimate: Estimate, *, animal_type: AnimalType, limb: Limb) -> Floats:
    """The same from an estimate alone: Σ_k = P − G_k P, so G_k = 1 − Σ_k P⁻¹; for one with nothing worn on the hoof."""
    prior = population(animal_type, limb=limb).covariance
    gains: Floats = np.eye(2) - estimate.covariances @ np.linalg.inv(prior)
    return gains


def lay_out_sales(sales: Sequence[Sale], table: SizeTable) -> Sales:
    """Sales as arrays; those whose outcome says nothing of fit must have been left out."""
    parts = max((len(sale.estimate.weights) for sale in sales), default=1)
    sizes = np.array([sale.size for sale in sales], dtype=np.intp)
    edges, deviations = table.edges_mm[sizes][:, :, OUTER], table.edge_sd_mm[sizes][:, :, OUTER]
    return Sales(
        weights=_filled([sale.estimate.weights for sale in sales], parts=parts, shape=(), fill=0.0),
        means=_filled([sale.estimate.means for sale in sales], parts=parts, shape=(2,), fill=0.0),
        covariances=_filled([sale.estimate.covariances for sale in sales], parts=parts, shape=(2, 2), fill=np.eye(2)),
        gains=_filled([sale.gains for sale in sales], parts=parts, shape=(2, 2), fill=0.0),
        edges_mm=np.concatenate([np.full((len(sales), 2, 1), -np.inf), edges], axis=-1),
        edge_sd_mm=np.concatenate([np.ones((len(sales), 2, 1)), deviations], axis=-1),
        sizes=sizes,
        outcomes=np.array([OF_FIT.index(sale.outcome) for sale in sales], dtype=np.intp),
        groups=tuple(sale.group for sale in sales),
    )


def _filled(each: Sequence[Floats], *, parts: int, shape: tuple[int, ...], fill: float | Floats) -> Floats:
    """The parts of every hoof as one array, those it lacks filled in."""
    whole = np.empty((len(each), parts, *shape))
    whole[:] = fill
    for row, values in enumerate(each):
        whole[row, : len(values)] = values
    return whole
