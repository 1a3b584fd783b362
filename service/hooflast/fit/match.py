"""Match: one hoof against a table of sizes, giving the boot models in their order and each one's sizes."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.chances import ACCEPTED, preference, step_chances, verdicts_from
from hooflast.fit.estimate import Estimate
from hooflast.fit.layout import Layout
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import Closeness
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import SizeTable

IN_REACH: Final = 1e-4
"""A size whose width or length alone is accepted less often than this is not looked at further."""

WORTH_SHOWING: Final = 0.1
"""Boot models of which some size fits less often than this are not offered [C]. A wide range is no reason to hide one:
that only takes it down the list."""

EQUAL: Final = 1e-9
"""Worths on one axis that differ by less are equal: several sizes of a chart may share their range on one axis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BootMatch:
    """One boot model on one hoof. Sizes are indices into the table; None where there is none.

    `by_width` and `by_length` are the sizes either dimension alone would choose.
    """

    boot: int
    band: int
    closeness: float
    some_fits: float
    best: int
    smaller: int | None
    larger: int | None
    by_width: int | None
    by_length: int | None

    @property
    def steps_apart(self) -> int | None:
        """Sizes between what width and what length ask for; positive where width asks for the larger."""
        return None if self.by_width is None or self.by_length is None else self.by_width - self.by_length


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofMatch:
    """The offered boot models, best first, and the chances of their sizes.

    Fit chances (N,) and verdicts (N, 2, 5) are those of the offered boot models' sizes; nan for every other size.
    """

    boots: tuple[BootMatch, ...]
    fit_chances: Floats
    verdicts: Floats


def match_hoof(
    estimate: Estimate,
    layout: Layout,
    *,
    boots: NDArray[np.intp],
    wish_rank: Sequence[int],
    at_most: int | None = None,
) -> HoofMatch:
    """Rank the given boot models (indices into the layout's table) for one hoof, and offer `at_most` of them.

    Order: by band; inside a band by `wish_rank` (one number per boot model of the table, smaller first), then by
    closeness, then by place in the table. Boot models of which hardly any size fits are left out.
    """
    closeness = layout.compare(estimate, boots=boots)
    return offer_boots(estimate, layout.table, boots=boots, closeness=closeness, wish_rank=wish_rank, at_most=at_most)


def offer_boots(
    estimate: Estimate,
    table: SizeTable,
    *,
    boots: NDArray[np.intp],
    closeness: Closeness,
    wish_rank: Sequence[int],
    at_most: int | None = None,
) -> HoofMatch:
    """The same for boot models that have been compared."""
    bands = closeness.bands
    order = sorted(
        np.flatnonzero(closeness.some_fits >= WORTH_SHOWING),
        key=lambda row: (bands[row], wish_rank[int(boots[row])], -closeness.expected[row], boots[row]),
    )[:at_most]
    offered = [int(boots[row]) for row in order]
    chances = _size_chances(estimate, table, boots=offered)
    return HoofMatch(
        boots=tuple(
            _sizes(
                table.sizes_of(boot),
                boot=boot,
                band=int(bands[row]),
                closeness=float(closeness.expected[row]),
                some_fits=float(closeness.some_fits[row]),
                worth=chances.worth,
                axis_worth=chances.axis_worth,
            )
            for boot, row in zip(offered, order, strict=True)
        ),
        fit_chances=chances.fit,
        verdicts=chances.verdicts,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _SizeChances:
    """Fit chance and expected worth (N,), worth along each axis (N, 2), verdicts (N, 2, 5) of some sizes; nan else."""

    fit: Floats
    worth: Floats
    axis_worth: Floats
    verdicts: Floats


def _size_chances(estimate: Estimate, table: SizeTable, *, boots: Sequence[int]) -> _SizeChances:
    rows = np.array([size for boot in boots for size in table.sizes_of(boot)], dtype=np.intp)
    edges, deviations = table.edges_mm[rows], table.edge_sd_mm[rows]
    preferred = [preference(table.closures[boot]) for boot in boots for _ in table.sizes_of(boot)]
    steps = np.stack([np.broadcast_to(ACCEPTED, (len(rows), 4)), np.array(preferred).reshape(-1, 4)])
    past = step_chances(estimate, edges_mm=edges, edge_sd_mm=deviations)
    fit, worth = np.zeros(len(rows)), np.zeros(len(rows))
    near = np.flatnonzero((past @ ACCEPTED).min(axis=1) >= IN_REACH)
    fit[near], worth[near] = expected_worths(
        estimate, edges_mm=edges[near], edge_sd_mm=deviations[near], steps=steps[:, near]
    )
    axis_worth = np.where(table.has_axis[rows], np.einsum("naj,nj->na", past, steps[1]), -np.inf)
    verdicts = verdicts_from(past)
    count = len(table.edges_mm)
    return _SizeChances(
        fit=_spread(fit, rows, count=count),
        worth=_spread(worth, rows, count=count),
        axis_worth=_spread(axis_worth, rows, count=count),
        verdicts=_spread(verdicts, rows, count=count),
    )


def _spread(values: Floats, rows: NDArray[np.intp], *, count: int) -> Floats:
    """The values at their rows of an array that is nan elsewhere."""
    whole = np.full((count, *values.shape[1:]), np.nan)
    whole[rows] = values
    return whole


def _sizes(
    sizes: range, *, boot: int, band: int, closeness: float, some_fits: float, worth: Floats, axis_worth: Floats
) -> BootMatch:
    best = sizes[int(np.argmax(worth[sizes.start : sizes.stop]))]
    by_axis = [_chosen(axis_worth[sizes.start : sizes.stop, axis], sizes, best=best) for axis in (0, 1)]
    return BootMatch(
        boot=boot,
        band=band,
        closeness=closeness,
        some_fits=some_fits,
        best=best,
        smaller=best - 1 if best > sizes.start else None,
        larger=best + 1 if best + 1 < sizes.stop else None,
        by_width=by_axis[0],
        by_length=by_axis[1],
    )


def _chosen(worth: Floats, sizes: range, *, best: int) -> int | None:
    """The size of largest worth on one axis, among equals the nearest to the best; None where no size has that axis."""
    largest = worth.max()
    if np.isneginf(largest):
        return None
    equals = np.flatnonzero(worth >= largest - EQUAL)
    return sizes[int(equals[np.argmin(np.abs(equals - sizes.index(best)))])]
