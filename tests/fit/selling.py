"""Selling: a simulated shop. Hooves of a population are read, the recommended size is sold, and comes back or does not.

Everything is drawn from the joint model of fit-model section 12, link by link, with none of the engine's integrals.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.learning import Posterior, learn
from hooflast.fit.offset_prior import Priors, design
from hooflast.fit.outcome import OF_FIT, REASONS, USUALLY_KEPT_LOGITS, Channel, Outcome, ReadingGroup, kept_chances
from hooflast.fit.population import population
from hooflast.fit.sale import Sale, lay_out_sales, reading_gains
from hooflast.fit.sizes import SizeTable
from hooflast.fit.uncertainty import reading_error

CLINIC = ReadingGroup(method=Method.CALLIPER, channel=Channel.CLINIC)
WEB = ReadingGroup(method=Method.TAPE, channel=Channel.WEB)
OBSERVERS = {CLINIC: Observer.PROFESSIONAL, WEB: Observer.OWNER}

KNOWN_READINGS = Priors(bias_sd_mm=MappingProxyType(dict.fromkeys(Method, 1e-6)))
"""What is learned where readings are known to be right on average."""


@dataclass(frozen=True, kw_only=True)
class Shop:
    """What is sold, to whom, and the truth that learning is to find: offsets by size, biases by group."""

    table: SizeTable
    offsets: np.ndarray
    boots: Sequence[int] = (0,)
    groups: Sequence[ReadingGroup] = (CLINIC,)
    biases: Mapping[ReadingGroup, tuple[float, float]] = field(default_factory=dict)
    logits: np.ndarray = field(default_factory=lambda: USUALLY_KEPT_LOGITS)
    animal_type: AnimalType = AnimalType.HORSE
    limb: Limb = Limb.LF

    def sell(self, count: int, *, seed: int) -> list[Sale]:
        """What became of `count` boots; hooves that hardly any size fits are sent away."""
        generator = np.random.default_rng(seed)
        sold: list[Sale] = []
        while len(sold) < count:
            sold += self._day(count, generator=generator)
        return sold[:count]

    def _day(self, count: int, *, generator) -> list[Sale]:
        kind = population(self.animal_type, limb=self.limb)
        hooves = generator.multivariate_normal(kind.mean, kind.covariance, size=count)
        boots = generator.choice(self.boots, size=count)
        by_group = generator.integers(len(self.groups), size=count)
        read = hooves.copy()
        for at, group in enumerate(self.groups):
            rows = np.flatnonzero(by_group == at)
            error = reading_error(self._reading((130.0, 130.0), group=group))
            parts = generator.choice(len(error.chances), p=error.chances, size=len(rows))
            roots = np.linalg.cholesky(error.covariances)[parts]
            read[rows] += self.biases.get(group, (0.0, 0.0)) + np.einsum(
                "nij,nj->ni", roots, generator.standard_normal((len(rows), 2))
            )
        sales: list[Sale] = []
        sold: list[int] = []
        for row in np.flatnonzero(self._near(read, boots=boots)):
            group = self.groups[by_group[row]]
            reading = self._reading(read[row], group=group)
            estimate = estimate_hoof(reading, animal_type=self.animal_type)
            size = self._recommended(estimate, boot=int(boots[row]))
            if size >= 0:
                gains = reading_gains(reading, animal_type=self.animal_type)
                sales.append(Sale(estimate=estimate, gains=gains, size=size, group=group, outcome=Outcome.KEPT))
                sold.append(int(row))
        sizes = np.array([sale.size for sale in sales], dtype=int)
        outcomes = self.outcomes(hooves[sold], sizes, generator)
        return [replace(sale, outcome=outcome) for sale, outcome in zip(sales, outcomes, strict=True)]

    def _near(self, read, *, boots) -> np.ndarray:
        """Readings near enough to some size of their boot model for it to come into question."""
        edges = self.table.edges_mm
        near = (edges[:, :, 0] - 5.0 < read[:, None]) & (read[:, None] < edges[:, :, 3] + 5.0)
        own = self.table.boot_of == boots[:, None]
        return (near.all(axis=2) & own).any(axis=1)

    def _reading(self, read, *, group) -> HoofReading:
        width, length = (AxisReading(values_mm=(float(value),)) for value in read)
        return HoofReading(limb=self.limb, width=width, length=length, method=group.method, observer=OBSERVERS[group])

    def _recommended(self, estimate: Estimate, *, boot: int) -> int:
        """The size of largest expected worth; -1 where hardly any size fits."""
        sizes = self.table.sizes_of(boot)
        rows = slice(sizes.start, sizes.stop)
        corners = corner_chances(estimate, edges_mm=self.table.edges_mm[rows], edge_sd_mm=self.table.edge_sd_mm[rows])
        worth = expected_worth(corners, steps=preference(self.table.closures[boot]))
        return sizes[int(np.argmax(worth))] if worth.max() > 0.05 else -1

    def outcomes(self, hooves, sizes, generator) -> list[Outcome]:
        edges, deviations = self.table.edges_mm[sizes][:, :, [0, 3]], self.table.edge_sd_mm[sizes][:, :, [0, 3]]
        made = edges + deviations * generator.standard_normal(edges.shape) + self.offsets[sizes][:, :, None]
        place = (hooves[:, :, None] > made).sum(axis=2)
        kept = kept_chances(self.logits)[place[:, 0], place[:, 1]]
        reasons = REASONS[place[:, 0], place[:, 1]].cumsum(axis=1)
        given = np.minimum((generator.random((len(hooves), 1)) > reasons).sum(axis=1), 5)
        return [
            Outcome.KEPT if stays else OF_FIT[1 + why]
            for stays, why in zip(generator.random(len(hooves)) < kept, given, strict=True)
        ]


def alike(table: SizeTable, offset_mm: tuple[float, float]) -> np.ndarray:
    """One offset for every size of a table."""
    return np.broadcast_to(np.asarray(offset_mm), (len(table.edges_mm), 2))


def posterior(sales: list[Sale], table: SizeTable, *, priors: Priors, makers: tuple[int, ...] = (0,)) -> Posterior:
    return learn(design(lay_out_sales(sales, table), table, makers=makers, priors=priors))


def sold(
    estimate: Estimate, *, outcome: Outcome, size: int = 0, group: ReadingGroup = CLINIC, gain: float = 0.0
) -> Sale:
    gains = np.broadcast_to(gain * np.eye(2), (len(estimate.weights), 2, 2))
    return Sale(estimate=estimate, gains=gains, size=size, group=group, outcome=outcome)
