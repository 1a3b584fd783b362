"""Offset prior: what learning believes before any outcome, as independent standard normals behind every effect.

A size's offset δ = (δ_W, δ_L), mm, is how much larger a hoof it takes than its chart says. It is the sum of what its
maker, its boot model and the size itself add, each N(0, share · 2²) on either axis: sizes of one boot model, and boot
models of one maker, lend each other strength, and one size alone is N(0, 2²). The readings of one method in one channel
are off by β = (β_W, β_L), mm, in common. The three logits of keeping are normal around their usual values.

Every one of these is a standard deviation times a standard normal u; an effect is a sum over few of them,

    effects_n = usual + Σ_c loads_nc u[columns_nc].
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.hoof import Method
from hooflast.fit.normal import Floats
from hooflast.fit.outcome import SIDES, USUALLY_KEPT_LOGITS, ReadingGroup
from hooflast.fit.outcome_chances import EFFECTS
from hooflast.fit.sale import Sales
from hooflast.fit.sizes import SizeTable

OFFSET_SD_MM: Final = 2.0
"""How far a size is from its chart, mm [C]."""

MAKER_SHARE, BOOT_SHARE, SIZE_SHARE = 0.36, 0.49, 0.15
"""How much of an offset's variance is its maker's, its boot model's and its own [C]."""

BIAS_SD_MM: Final = MappingProxyType(
    {Method.CALLIPER: 0.75, Method.RULER: 0.75, Method.TAPE: 1.5, Method.OUTLINE: 1.5, Method.UNKNOWN: 1.5}
)
"""How far the readings of one method in one channel are off in common, mm: half as much again as one reader's [C]."""

BIAS_CORRELATION: Final = 0.5
"""Who reads width too large tends to read length too large [C]."""

KEEPING_LOGIT_SD: Final = 0.5
"""How far the chances of keeping are from their usual values, as logits [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Priors:
    """The standard deviations of everything that is learned; none of an effect (0) leaves it as it usually is."""

    offset_sd_mm: float = OFFSET_SD_MM
    bias_sd_mm: Mapping[Method, float] = field(default_factory=lambda: BIAS_SD_MM)
    keeping_logit_sd: float = KEEPING_LOGIT_SD
    usually_kept_logits: tuple[float, ...] = tuple(USUALLY_KEPT_LOGITS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Which of the P standard normals each of N sales depends on, and how strongly.

    boots (B,), sizes (S,): what was sold at least once, as boot models and all their sizes, indices into the table
    boot_of (S,): the place in `boots` of each size's boot model; groups: the readings' groups
    columns (N, 11), loads (N, 7, 11), usual (7,): each sale's standard normals, their effects, what is usual
    size_columns (S, 6), group_columns (G, 2): those behind a size's offset and behind a group's bias
    """

    sales: Sales
    boots: NDArray[np.intp]
    sizes: NDArray[np.intp]
    boot_of: NDArray[np.intp]
    groups: tuple[ReadingGroup, ...]
    columns: NDArray[np.intp]
    loads: Floats
    usual: Floats
    size_columns: NDArray[np.intp]
    size_loads: Floats
    group_columns: NDArray[np.intp]
    group_loads: Floats
    keeping_columns: NDArray[np.intp]
    keeping_load: float
    count: int

    def only(self, rows: NDArray[np.intp]) -> "Design":
        """The same standard normals behind fewer sales."""
        return replace(self, sales=self.sales.only(rows), columns=self.columns[rows], loads=self.loads[rows])

    def effects(self, normals: Floats) -> Floats:
        """The effects (N, 7) of every sale at standard normals (P,)."""
        effects: Floats = self.usual + np.einsum("nec,nc->ne", self.loads, normals[self.columns])
        return effects

    def offset_rows(self, sizes: NDArray[np.intp]) -> Floats:
        """The offsets of sizes, given by their places in `sizes`, as rows over the standard normals (…, 2, P)."""
        rows = np.zeros((len(sizes), 2, self.count))
        for place, size in enumerate(sizes):
            rows[place][:, self.size_columns[size]] = self.size_loads
        return rows


def design(sales: Sales, table: SizeTable, *, makers: Sequence[int], priors: Priors) -> Design:
    """Lay out the standard normals behind a number of sales; `makers` (M,) tells each boot model's maker."""
    maker_of = np.asarray(makers)
    boots = np.unique(table.boot_of[sales.sizes])
    sizes = np.concatenate([np.empty(0, dtype=np.intp), *(np.asarray(table.sizes_of(boot)) for boot in boots)])
    boot_of = np.searchsorted(boots, table.boot_of[sizes])
    known_makers, maker_place = np.unique(maker_of[boots], return_inverse=True)
    groups = tuple(sorted(set(sales.groups)))
    first = np.cumsum([0, len(known_makers), len(boots), len(sizes), len(groups)]) * 2
    makers_at, boots_at, sizes_at, groups_at, keeping_at = (int(start) for start in first)
    levels = np.stack(
        [makers_at + 2 * maker_place[boot_of], boots_at + 2 * boot_of, sizes_at + 2 * np.arange(len(sizes))], axis=1
    )
    size_columns = np.concatenate([levels, levels + 1], axis=1)
    group_columns = groups_at + np.arange(2 * len(groups)).reshape(-1, 2)
    shares = priors.offset_sd_mm * np.sqrt([MAKER_SHARE, BOOT_SHARE, SIZE_SHARE])
    size_loads: Floats = np.kron(np.eye(2), shares).astype(np.float64)
    shape = np.linalg.cholesky([[1.0, BIAS_CORRELATION], [BIAS_CORRELATION, 1.0]])
    group_loads = np.array([priors.bias_sd_mm[group.method] for group in groups]).reshape(-1, 1, 1) * shape
    size_at = np.searchsorted(sizes, sales.sizes)
    group_at = np.array([groups.index(group) for group in sales.groups], dtype=np.intp)
    count = len(sales.sizes)
    keeping = np.broadcast_to(keeping_at + np.arange(len(SIDES)), (count, len(SIDES)))
    loads = np.zeros((count, EFFECTS, 11))
    loads[:, :2, :6] = size_loads
    loads[:, 2:4, 6:8] = group_loads[group_at]
    loads[:, 4:, 8:] = priors.keeping_logit_sd * np.eye(len(SIDES))
    return Design(
        sales=sales,
        boots=boots,
        sizes=sizes,
        boot_of=boot_of,
        groups=groups,
        columns=np.concatenate([size_columns[size_at], group_columns[group_at], keeping], axis=1),
        loads=loads,
        usual=np.concatenate([np.zeros(4), priors.usually_kept_logits]),
        size_columns=size_columns,
        size_loads=size_loads,
        group_columns=group_columns,
        group_loads=group_loads,
        keeping_columns=keeping_at + np.arange(len(SIDES)),
        keeping_load=priors.keeping_logit_sd,
        count=keeping_at + len(SIDES),
    )
