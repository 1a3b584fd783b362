"""What is believed before any outcome: which standard normals stand for what, and how they lend each other strength."""

import numpy as np
import pytest
from tests.fit.selling import CLINIC, KNOWN_READINGS, WEB, posterior, sold
from tests.fit.strategies import known, ladder

from hooflast.fit import outcome
from hooflast.fit.offset_prior import (
    BIAS_CORRELATION,
    BIAS_SD_MM,
    BOOT_SHARE,
    MAKER_SHARE,
    OFFSET_SD_MM,
    SIZE_SHARE,
    Priors,
    design,
)
from hooflast.fit.outcome import Outcome
from hooflast.fit.sale import lay_out_sales
from hooflast.fit.sizes import size_table


def test_nothing_is_learned_from_nothing() -> None:
    table = size_table([ladder(count=3)])
    found = posterior([], table, priors=Priors())
    assert found.mode == pytest.approx(np.zeros(3))
    assert found.covariance == pytest.approx(np.eye(3))


def test_a_size_alone_is_known_to_two_millimetres() -> None:
    """Maker, boot model and size add up to the prior of a size; two sizes of one boot model share the first two."""
    table = size_table([ladder(count=2), ladder(count=1), ladder(count=1)])
    sales = [sold(known(102.0, 102.0), outcome=Outcome.KEPT, size=size) for size in (0, 2, 3)]
    layout = design(lay_out_sales(sales, table), table, makers=(0, 0, 1), priors=Priors())
    rows = layout.offset_rows(np.arange(4))
    believed = np.einsum("sap,tbp->satb", rows, rows)
    for axis in (0, 1):
        variance = believed[:, axis, :, axis] / OFFSET_SD_MM**2
        shared = np.array([[1.0, MAKER_SHARE + BOOT_SHARE, MAKER_SHARE, 0.0]])
        assert variance[:1] == pytest.approx(shared)
        assert np.diagonal(variance) == pytest.approx(np.ones(4))
    assert believed[:, 0, :, 1] == pytest.approx(np.zeros((4, 4)))
    assert pytest.approx(1.0) == MAKER_SHARE + BOOT_SHARE + SIZE_SHARE


def test_readings_of_one_group_are_off_in_common_by_as_much_as_their_method() -> None:
    table = size_table([ladder(count=1)])
    sales = [sold(known(102.0, 102.0), outcome=Outcome.KEPT, group=group) for group in (CLINIC, WEB, WEB)]
    layout = design(lay_out_sales(sales, table), table, makers=(0,), priors=Priors())
    assert layout.groups == (CLINIC, WEB)
    for row, group in enumerate((CLINIC, WEB, WEB)):
        loads = layout.loads[row, 2:4]
        believed = BIAS_SD_MM[group.method] ** 2 * np.array([[1.0, BIAS_CORRELATION], [BIAS_CORRELATION, 1.0]])
        assert loads @ loads.T == pytest.approx(believed)
    columns = [set(layout.columns[row, 6:8]) for row in range(3)]
    assert columns[1] == columns[2]
    assert not columns[0] & columns[1]


def test_effects_are_what_is_usual_plus_what_is_loaded() -> None:
    table = size_table([ladder(count=2), ladder(count=2)])
    sales = [
        sold(known(102.0, 102.0), outcome=Outcome.KEPT, size=size, group=group)
        for size, group in ((3, WEB), (0, CLINIC))
    ]
    layout = design(lay_out_sales(sales, table), table, makers=(1, 0), priors=Priors())
    normals = np.random.default_rng(1).normal(size=layout.count)
    effects = layout.effects(normals)
    assert effects[:, :2] == pytest.approx(np.stack([layout.offset_rows(np.array([at]))[0] @ normals for at in (3, 0)]))
    for row, group in enumerate((1, 0)):
        assert effects[row, 2:4] == pytest.approx(layout.group_loads[group] @ normals[layout.group_columns[group]])
        logits = outcome.USUALLY_KEPT_LOGITS + layout.keeping_load * normals[layout.keeping_columns]
        assert effects[row, 4:] == pytest.approx(logits)
    assert layout.effects(np.zeros(layout.count))[0] == pytest.approx([0, 0, 0, 0, *outcome.USUALLY_KEPT_LOGITS])


def test_fewer_sales_rest_on_the_same_standard_normals() -> None:
    table = size_table([ladder(count=2), ladder(count=2)])
    sales = [
        sold(known(102.0, 102.0), outcome=word, size=size, group=group)
        for size, group, word in ((3, WEB, Outcome.KEPT), (0, CLINIC, Outcome.TOO_SMALL))
    ]
    layout = design(lay_out_sales(sales, table), table, makers=(1, 0), priors=Priors())
    normals = np.random.default_rng(1).normal(size=layout.count)
    some = layout.only(np.array([1]))
    assert some.effects(normals) == pytest.approx(layout.effects(normals)[1:])
    assert (some.sales.sizes.tolist(), some.sales.groups) == ([0], (CLINIC,))
    assert (some.count, some.sizes.tolist()) == (layout.count, layout.sizes.tolist())


def test_every_standard_normal_stands_for_one_thing() -> None:
    table = size_table([ladder(count=2), ladder(count=3), ladder(count=1)])
    sales = [
        sold(known(102.0, 102.0), outcome=Outcome.KEPT, size=size, group=group)
        for size, group in ((0, CLINIC), (5, WEB))
    ]
    layout = design(lay_out_sales(sales, table), table, makers=(7, 7, 3), priors=Priors())
    assert layout.boots.tolist() == [0, 2]
    assert layout.sizes.tolist() == [0, 1, 5]
    assert layout.boot_of.tolist() == [0, 0, 1]
    every = np.concatenate([layout.size_columns.ravel(), layout.group_columns.ravel(), layout.keeping_columns])
    assert set(every) == set(range(layout.count))
    assert layout.count == 2 * (2 + 2 + 3 + 2) + 3
    assert not set(layout.size_columns[0]) & set(layout.size_columns[2])
    assert len(set(layout.size_columns[0]) & set(layout.size_columns[1])) == 4


def test_a_boot_model_lends_its_sizes_and_its_makers_others_strength() -> None:
    table = size_table([ladder(count=3), ladder(count=2), ladder(count=2)])
    sales = [sold(known(98.5, 102.0), outcome=Outcome.KEPT) for _ in range(20)]
    sales += [sold(known(102.0, 102.0), outcome=Outcome.KEPT, size=size) for size in (3, 5)]
    found = posterior(sales, table, priors=KNOWN_READINGS, makers=(0, 0, 1))
    width = [row[0] @ found.mode for row in found.design.offset_rows(np.arange(7))]
    assert width[0] < width[1] < width[3] < width[5] + 1e-9
    assert width[1] == pytest.approx(width[2])
    assert width[0] < -0.3
