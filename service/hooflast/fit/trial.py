"""Trial: a hoof and the sizes of a boot model on a lattice of millimetres, and what try-ons change about both.

A boot model as a whole may run larger or smaller than its chart: its offset b on (width, length) is N(0, OFFSET_SD_MM²)
on each. Its sizes meet the hoof at (W, L) − b, so within one boot model nothing else matters, and Bayes' rule on the
lattice of (W, L) − b is exact. To another boot model only what the hoof has learned is carried,

    P(W, L | findings) ∝ P(W, L) · E_b[ Π P(finding | (W, L) − b) ],

with the offset integrated out: on a lattice, a product with the normal's weights along each axis.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.estimate import Estimate
from hooflast.fit.findings import USUAL, Finding, Seen, Sight, Standing, standing_chances
from hooflast.fit.grid import NEGLIGIBLE, Grid
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import SizeTable

OFFSET_SD_MM: Final = 2.0
"""How far a boot model as a whole runs from its chart, on each axis, mm [C]."""

SPACING_MM: Final = 1.0
"""Spacing of the lattice: no wider than the spread of the boots themselves, which blurs every edge."""

REACH_SD: Final = 4.5
OFFSET_REACH_SD: Final = 4.0

LEFT_OUT: Final = 1e-7
"""Points of less chance than this share of the likeliest are left out."""

MISLED: Final = 0.05
"""Chance, before anything is seen, that the findings say nothing about this hoof: another hoof, another boot, a reading
or a finding mixed up [C]."""


class TryOn(NamedTuple):
    """One size, an index into the table, and what was seen of it."""

    size: int
    seen: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One boot model being tried on one hoof, at N points of the hoof less the boot model's offset.

    before (N,): the chance of each point before this boot model was tried; less than one together where findings on
    other boot models were unlikely
    standing (n, 4, N): how each of its sizes stands at each point
    larger (n, n): whether the second size is at least as large as the first on both axes
    tried: what was seen of its sizes, in order
    carried: what was seen on other boot models before
    """

    sizes: range
    before: Floats
    standing: Floats
    larger: NDArray[np.bool_]
    tried: tuple[TryOn, ...]
    carried: tuple[TryOn, ...] = ()
    sight: Sight = USUAL

    @property
    def tried_sizes(self) -> frozenset[int]:
        """The sizes that something was seen of."""
        return frozenset(one.size for one in self.tried)

    @property
    def sight_weights(self) -> Floats:
        """Chance of all that was seen of each size, by how it stands: (n, 4), one for a size that was not tried."""
        return np.array([_sight_weights(self.seen_of(size), sight=self.sight) for size in self.sizes])

    @property
    def after(self) -> Floats:
        """The chance of each point together with everything that was seen, (N,)."""
        likelihoods = np.einsum("ns,nsp->np", self.sight_weights, self.standing)
        after: Floats = self.before * likelihoods.prod(axis=0)
        return after

    @property
    def evidence(self) -> float:
        """Chance of everything that was seen, on this boot model and on others before."""
        return float(self.after.sum())

    @property
    def all_tried(self) -> tuple[TryOn, ...]:
        """Everything that was seen of any boot model."""
        return (*self.carried, *self.tried)

    @property
    def standing_after(self) -> Floats:
        """Chance of how each size stands, given everything that was seen: (n, 4), each row adding up to one."""
        weights = self.sight_weights
        likelihoods = np.einsum("ns,nsp->np", weights, self.standing)
        found = np.empty(weights.shape)
        for place in range(len(self.sizes)):
            others = self.before * np.delete(likelihoods, place, axis=0).prod(axis=0)
            found[place] = weights[place] * (self.standing[place] @ others)
        chances: Floats = found / found.sum(axis=1, keepdims=True)
        return chances

    @property
    def right_after(self) -> Floats:
        """Chance that each size is right, given everything that was seen, (n,)."""
        return self.standing_after[:, list(Standing).index(Standing.RIGHT)]

    @property
    def right_by_size(self) -> dict[int, float]:
        """The same by size."""
        return dict(zip(self.sizes, self.right_after.tolist(), strict=True))

    def seen_of(self, size: int) -> tuple[Seen, ...]:
        """What was seen of one size."""
        return tuple(one.seen for one in self.tried if one.size == size)

    def with_try_on(self, size: int, seen: Seen) -> "Trial":
        """The trial after one more try-on."""
        return replace(self, tried=(*self.tried, TryOn(size, seen)))


def hoof_lattice(estimate: Estimate) -> Grid:
    """The hoof on one lattice of millimetres, far enough for every part of the mixture that counts.

    A hoof sharper than the lattice is taken as its mean over one spacing.
    """
    heavy = estimate.weights >= NEGLIGIBLE
    weights, means = estimate.weights[heavy], estimate.means[heavy]
    covariances = estimate.covariances[heavy] + SPACING_MM**2 / 12.0 * np.eye(2)
    reach = REACH_SD * np.sqrt(np.diagonal(covariances, axis1=-2, axis2=-1))
    low, high = (means - reach).min(axis=0), (means + reach).max(axis=0)
    widths, lengths = (np.arange(np.floor(low[axis]), high[axis] + SPACING_MM, SPACING_MM) for axis in (0, 1))
    apart = np.stack(np.meshgrid(widths, lengths, indexing="ij"), axis=-1)[..., None, :] - means
    precisions = np.linalg.inv(covariances)
    exponents = np.einsum("ghki,kij,ghkj->ghk", apart, precisions, apart)
    mass = np.exp(-0.5 * exponents) @ (weights * np.sqrt(np.linalg.det(precisions)))
    return Grid(widths_mm=widths, lengths_mm=lengths, mass=mass / mass.sum())


def begin_trial(
    hoof: Grid,
    table: SizeTable,
    *,
    sizes: range,
    tried: Sequence[TryOn] = (),
    carried: Sequence[TryOn] = (),
    offset_sd_mm: float = OFFSET_SD_MM,
) -> Trial:
    """A boot model tried on a hoof, with what was seen of its sizes so far, and before on other boot models."""
    reach = _offset_weights(offset_sd_mm)
    points = _wider(hoof, by=len(reach) // 2)
    across, along = (_smear(len(axis), weights=reach) for axis in (hoof.widths_mm, hoof.lengths_mm))
    mass = across.T @ hoof.mass @ along
    kept = mass >= LEFT_OUT * mass.max()
    return Trial(
        sizes=sizes,
        before=mass[kept],
        standing=standing_chances(points, table, sizes=sizes)[:, :, kept],
        larger=_larger(table, sizes=sizes),
        tried=tuple(tried),
        carried=tuple(carried),
    )


def carry_over(
    hoof: Grid, table: SizeTable, *, sizes: range, tried: Sequence[TryOn], offset_sd_mm: float = OFFSET_SD_MM
) -> Grid:
    """What findings on one boot model say about the hoof, for another boot model: its own offset is integrated out.

    The mass that is left, against what was there, is the chance of the findings.
    """
    reach = _offset_weights(offset_sd_mm)
    standing = standing_chances(_wider(hoof, by=len(reach) // 2), table, sizes=sizes)
    weights = [_sight_weights([one.seen for one in tried if one.size == size], sight=USUAL) for size in sizes]
    likelihood = np.einsum("ns,nsgh->ngh", weights, standing).prod(axis=0)
    across, along = (_smear(len(axis), weights=reach) for axis in (hoof.widths_mm, hoof.lengths_mm))
    return Grid(widths_mm=hoof.widths_mm, lengths_mm=hoof.lengths_mm, mass=hoof.mass * (across @ likelihood @ along.T))


def one_normal(hoof: Grid) -> Estimate:
    """The hoof on a lattice as one normal of the same mean and covariance, for what asks for an estimate."""
    chances = hoof.mass / hoof.mass.sum()
    points = np.stack(np.meshgrid(hoof.widths_mm, hoof.lengths_mm, indexing="ij"), axis=-1)
    mean = np.einsum("gh,ghi->i", chances, points)
    covariance = np.einsum("gh,ghi,ghj->ij", chances, points - mean, points - mean)
    return Estimate(weights=np.ones(1), means=mean[None], covariances=covariance[None])


def chance_misled(evidence: float, *, tried: Sequence[TryOn]) -> float:
    """Chance that the findings say nothing about this hoof, MISLED before they were made.

    Bayes' rule between `evidence`, the chance of all of them on this hoof, and findings that fall as they like: each
    as likely as the others of its kind.
    """
    blind = MISLED * float(np.prod([_blind(one.seen) for one in tried]))
    return blind / (blind + (1.0 - MISLED) * evidence)


def _larger(table: SizeTable, *, sizes: range) -> NDArray[np.bool_]:
    outer = table.edges_mm[sizes.start : sizes.stop][:, :, [0, 3]]
    larger: NDArray[np.bool_] = np.all(outer[None] >= outer[:, None], axis=(-2, -1))
    return larger


def _blind(seen: Seen) -> float:
    kinds = (seen.indicator, seen.rotation, seen.heel_gap, seen.bulb_marks)
    return 0.25 / float(np.prod([len(type(found)) for found in kinds if found is not None]))


def _sight_weights(seen: Sequence[Seen], *, sight: Sight) -> Floats:
    """Chance of all that was seen of one size, by how it stands, (4,).

    A heel that was seated and looked at again says nothing more by its first look.
    """
    looks = [one for one in seen if one.finding is not Finding.HEEL_NOT_SEATED] or seen
    weights = np.ones(len(Standing))
    for one in looks:
        weights = weights * sight.chances(one)
    return weights


def _offset_weights(sd_mm: float) -> Floats:
    """Chance of each offset in steps of the lattice, the middle one being none; an odd number of them."""
    steps = ceil(OFFSET_REACH_SD * sd_mm / SPACING_MM)
    offsets = SPACING_MM * np.arange(-steps, steps + 1)
    weights = np.exp(-0.5 * (offsets / sd_mm) ** 2) if steps else np.ones(1)
    chances: Floats = weights / weights.sum()
    return chances


def _smear(count: int, *, weights: Floats) -> Floats:
    """Chance that a hoof at one of `count` points meets the boot at each point of the wider lattice."""
    smear = np.zeros((count, count + len(weights) - 1))
    for point in range(count):
        smear[point, point : point + len(weights)] = weights
    return smear


def _wider(hoof: Grid, *, by: int) -> tuple[Floats, Floats]:
    """The lattice's points along width and length, with `by` more at each end."""
    widths, lengths = (
        axis[0] + SPACING_MM * np.arange(-by, len(axis) + by) for axis in (hoof.widths_mm, hoof.lengths_mm)
    )
    return widths, lengths
