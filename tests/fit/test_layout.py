"""The layout: within its error of the comparison on the hoof's own lattices, and otherwise the same comparison."""

from typing import Final

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.layout import ERROR, POINTS_MM, SHARPEST_MM, Layout, lay_out_sizes
from hooflast.fit.match import match_hoof
from hooflast.fit.ranking import compare_boots
from hooflast.fit.sizes import BootChart, size_table

from .strategies import bounded, charts, hoof, known, ladder, mixture, mixtures

MANY: Final = 60
ONE_AXIS_EVERY: Final = 11


def catalog(seed: int) -> Layout:
    """Boot models of every closure, shape and step, most of them around an ordinary hoof."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(MANY):
        step, first, ratio = rng.integers(3, 9), rng.integers(80, 120), rng.uniform(0.88, 1.12)
        widths = [(float(first + size * step), float(first + (size + 1) * step - 1)) for size in range(6)]
        lengths = [(low / ratio, high / ratio) for low, high in widths]
        made.append(
            BootChart(
                closure=list(Closure)[number % len(Closure)],
                widths_mm=widths,
                lengths_mm=[None] * 6 if number % ONE_AXIS_EVERY == 0 else lengths,
            )
        )
    return lay_out_sizes(size_table(made))


@bounded
@given(st.lists(charts(), min_size=1, max_size=4), mixtures())
def test_it_is_within_its_error_of_the_hoofs_own_lattices(drawn: list[BootChart], estimate: Estimate) -> None:
    table = size_table(drawn)
    boots = np.arange(len(drawn))
    laid, own = lay_out_sizes(table).compare(estimate, boots=boots), compare_boots(estimate, table, boots=boots)
    assert np.abs(laid.expected - own.expected).max() <= ERROR
    assert np.abs(laid.some_fits - own.some_fits).max() <= ERROR


@pytest.mark.parametrize("sd", [SHARPEST_MM * 1.01, 1.5, 3.0, 8.0])
def test_it_is_within_its_error_over_a_whole_catalog(sd: float) -> None:
    layout = catalog(3)
    for width in (97.3, 124.0, 143.9):
        estimate = hoof(width, width * 1.02, sd=sd)
        laid = layout.compare(estimate, boots=np.arange(MANY))
        own = compare_boots(estimate, layout.table, boots=np.arange(MANY))
        allowed = np.where(np.arange(MANY) % ONE_AXIS_EVERY == 0, ERROR, ERROR / 2.0)
        assert np.all(np.abs(laid.expected - own.expected) <= allowed)
        assert np.all(np.abs(laid.some_fits - own.some_fits) <= allowed)


def test_a_hoof_that_is_one_of_several_which_overlap_is_all_of_them_at_once() -> None:
    """Parts of unlike weight about one place: none hides another."""
    layout, boots = catalog(2), np.arange(MANY)
    parts = [hoof(118.0, 120.0, sd=2.0), hoof(124.0, 125.0, sd=3.0), hoof(121.0, 123.0, sd=9.0)]
    estimate = mixture(parts, weights=[3.0, 2.0, 1.0])
    laid, own = layout.compare(estimate, boots=boots), compare_boots(estimate, layout.table, boots=boots)
    assert np.abs(laid.expected - own.expected).max() <= ERROR
    assert np.abs(laid.some_fits - own.some_fits).max() <= ERROR


def test_a_hoof_no_sharper_than_stated_is_not_compared_on_its_own_lattices() -> None:
    layout, boots = catalog(1), np.arange(MANY)
    estimate = hoof(124.3, 126.1, sd=SHARPEST_MM * 1.01)
    laid, own = layout.compare(estimate, boots=boots), compare_boots(estimate, layout.table, boots=boots)
    assert laid.expected.tolist() != own.expected.tolist()


def test_a_hoof_too_sharp_for_the_points_is_compared_on_its_own_lattices() -> None:
    layout, boots = catalog(1), np.arange(MANY)
    for estimate in (known(124.0, 126.0), hoof(124.0, 126.0, sd=SHARPEST_MM / 1.01)):
        laid, own = layout.compare(estimate, boots=boots), compare_boots(estimate, layout.table, boots=boots)
        assert laid.expected == pytest.approx(own.expected, abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_offering_a_few_is_the_head_of_offering_all(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    layout = catalog(seed)
    boots = np.sort(rng.choice(MANY, size=45, replace=False))
    wishes = rng.integers(0, 3, MANY).tolist()
    estimate = hoof(rng.uniform(95.0, 150.0), rng.uniform(95.0, 150.0), sd=(2.0, 3.0), correlation=0.3)
    everything = match_hoof(estimate, layout, boots=boots, wish_rank=wishes)
    few = match_hoof(estimate, layout, boots=boots, wish_rank=wishes, at_most=5)
    assert few.boots == everything.boots[:5]
    for match in few.boots:
        sizes = slice(*layout.table.first[match.boot : match.boot + 2])
        assert few.fit_chances[sizes] == pytest.approx(everything.fit_chances[sizes], abs=1e-12)


def test_it_says_how_many_bytes_its_worths_take() -> None:
    one, two = (lay_out_sizes(size_table([ladder()] * count)) for count in (1, 2))
    (worth,) = one.worth
    assert one.nbytes == sum(part.nbytes for part in (worth.data, worth.indices, worth.indptr))
    assert two.nbytes > one.nbytes > worth.nnz * worth.data.itemsize


def test_it_has_a_row_for_every_pair_of_points_and_a_column_for_every_boot_model() -> None:
    (worth,) = catalog(1).worth
    assert worth.shape == (len(POINTS_MM) ** 2, MANY)


def test_a_layout_of_nothing_compares_nothing() -> None:
    compared = lay_out_sizes(size_table([])).compare(hoof(124.0, 126.0, sd=2.0), boots=np.arange(0))
    assert (len(compared.bands), len(compared.expected), len(compared.some_fits)) == (0, 0, 0)


@bounded
@given(st.lists(charts(), min_size=1, max_size=4), mixtures(), st.data())
def test_some_sizes_of_a_layout_are_the_layout_of_some_sizes(
    drawn: list[BootChart], estimate: Estimate, data: st.DataObject
) -> None:
    """Twice over: what is left out once may leave more out."""
    layout = lay_out_sizes(size_table(drawn))
    for _ in range(2):
        kept = data.draw(
            st.lists(st.booleans(), min_size=len(layout.table.edges_mm), max_size=len(layout.table.edges_mm))
        )
        for boot in range(len(drawn)):
            kept[layout.table.first[boot]] = True
        layout = layout.only(np.array(kept, dtype=np.bool_))
    whole = lay_out_sizes(layout.table)
    boots = np.arange(len(drawn))
    some, anew = layout.compare(estimate, boots=boots), whole.compare(estimate, boots=boots)
    assert (some.expected.tolist(), some.some_fits.tolist()) == (anew.expected.tolist(), anew.some_fits.tolist())


def test_only_what_lost_a_size_is_laid_out_anew() -> None:
    layout = catalog(4)
    kept = np.ones(len(layout.table.edges_mm), dtype=np.bool_)
    kept[layout.table.first[7]] = kept[layout.table.first[11]] = False
    some = layout.only(kept)
    assert layout.columns.tolist() == list(range(MANY))
    assert some.worth[0] is layout.worth[0]
    assert some.worth[1].shape[1] == 2
    assert some.columns.tolist() == [{7: MANY, 11: MANY + 1}.get(boot, boot) for boot in range(MANY)]
    assert some.nbytes == layout.nbytes + sum(
        array.nbytes for array in (some.worth[1].data, some.worth[1].indices, some.worth[1].indptr)
    )
