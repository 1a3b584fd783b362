"""Bulk: the engine's own numbers, to the error stated, whatever comes together with what and in which order."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit import bulk
from hooflast.fit.boot import Closure
from hooflast.fit.bulk import CELL_MM, ERROR, NO_SIZE, BulkMatcher, match_in_bulk
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference
from hooflast.fit.estimate import estimates_if_read
from hooflast.fit.hoof import AnimalType, Method, Observer
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import BootChart, SizeTable, size_table

from .strategies import animal_types, bounded, charts, ladder, limbs, read, single

GIVING = [closure for closure in Closure if closure is not Closure.PULL_ON]
TABLE = size_table([ladder(count=10), ladder(closure=Closure.STRAP, first=(103.0, 98.0)), ladder(first=(150.0, 150.0))])


def believed_of(observer=Observer.PROFESSIONAL, *, method=Method.TAPE, animal_type=AnimalType.HORSE, limb=None):
    reading = read(0.0, 0.0, method=method, observer=observer, **({} if limb is None else {"limb": limb}))
    return lambda read_mm: estimates_if_read(reading, animal_type=animal_type, changes_mm=read_mm)


def exactly(hoof_mm: Floats, *, believed, table: SizeTable) -> tuple[Floats, Floats]:
    """Fit chance and worth of every size on one hoof, in closed form."""
    (estimate,) = believed(hoof_mm[None]).apart()
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    steps = np.array([preference(closure) for closure in table.closures])[table.boot_of]
    return expected_worth(corners, steps=ACCEPTED), expected_worth(corners, steps=steps)


def some_hooves(count: int) -> Floats:
    return np.random.default_rng(0).uniform(90.0, 160.0, (count, 2))


class TestAgainstTheClosedForm:
    @bounded
    @given(
        st.lists(charts(), min_size=1, max_size=4),
        st.lists(st.tuples(st.floats(85.0, 165.0), st.floats(85.0, 165.0)), min_size=1, max_size=6),
        st.sampled_from(Observer),
        st.sampled_from(Method),
        animal_types,
        limbs,
    )
    def test_chances_and_best_sizes_are_within_the_error(self, drawn, hooves, observer, method, animal_type, limb):
        table = size_table(drawn)
        believed = believed_of(observer, method=method, animal_type=animal_type, limb=limb)
        read_mm = np.array(hooves)
        (found,) = match_in_bulk(read_mm, table=table, believed=believed)
        for row, hoof_mm in enumerate(read_mm):
            fits, worth = exactly(hoof_mm, believed=believed, table=table)
            for boot in range(len(drawn)):
                sizes = table.sizes_of(boot)
                best = int(found.best[row, boot])
                if best == NO_SIZE:
                    assert found.fit_chance[row, boot] == 0.0
                    assert fits[sizes.start : sizes.stop].max() <= ERROR
                else:
                    assert best in sizes
                    assert found.fit_chance[row, boot] == pytest.approx(fits[best], abs=ERROR)
                    assert worth[best] >= worth[sizes.start : sizes.stop].max() - ERROR

    def test_across_a_whole_cell_the_error_holds(self):
        """The sharpest hoof there is, by a calliper and a professional, on boots whose tight side in length is bare."""
        believed = believed_of(method=Method.CALLIPER)
        inside = np.linspace(0.0, CELL_MM, 13)
        read_mm = 111.0 + np.stack(np.meshgrid(inside, inside), axis=-1).reshape(-1, 2)
        (found,) = match_in_bulk(read_mm, table=TABLE, believed=believed)
        for row, hoof_mm in enumerate(read_mm):
            fits, _ = exactly(hoof_mm, believed=believed, table=TABLE)
            for boot in (0, 1):
                assert found.fit_chance[row, boot] == pytest.approx(fits[found.best[row, boot]], abs=ERROR)


class TestTogether:
    def test_the_order_of_the_hooves_changes_nothing_but_their_order(self):
        hooves, order = some_hooves(300), np.random.default_rng(2).permutation(300)
        (straight,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        (turned,) = match_in_bulk(hooves[order], table=TABLE, believed=believed_of())
        assert turned.fit_chance == pytest.approx(straight.fit_chance[order], abs=1e-5)
        assert np.mean(turned.best == straight.best[order]) > 0.999

    @pytest.mark.parametrize("at_once", [1, 7, 64, 1000])
    def test_it_does_not_matter_how_many_are_worked_on_at_once(self, at_once):
        hooves = some_hooves(100)
        (whole,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        parts = list(match_in_bulk(hooves, table=TABLE, believed=believed_of(), at_once=at_once))
        assert len(parts) == -(-100 // at_once)
        assert np.concatenate([part.fit_chance for part in parts]) == pytest.approx(whole.fit_chance, abs=1e-5)

    def test_the_same_hooves_are_matched_the_same_each_time(self):
        one, other = (next(match_in_bulk(some_hooves(200), table=TABLE, believed=believed_of())) for _ in range(2))
        assert one.best.tolist() == other.best.tolist()
        assert one.fit_chance.tolist() == other.fit_chance.tolist()

    def test_equal_hooves_are_matched_equally(self):
        hooves = np.repeat(some_hooves(5), 3, axis=0)
        (found,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        assert found.fit_chance[::3].tolist() == found.fit_chance[1::3].tolist() == found.fit_chance[2::3].tolist()

    def test_cells_that_were_forgotten_are_asked_again(self, monkeypatch):
        hooves = some_hooves(60)
        (kept,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        monkeypatch.setattr(bulk, "MOST_CELLS", 2)
        (forgotten,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        assert forgotten.fit_chance.tolist() == kept.fit_chance.tolist()

    def test_the_engine_is_asked_once_about_a_cell(self):
        asked = []

        def believed(read_mm):
            asked.append(len(read_mm))
            return believed_of()(read_mm)

        matcher = BulkMatcher(TABLE, believed=believed)
        for _ in range(3):
            matcher.match(np.array([[120.1, 120.2], [120.3, 121.9]]))
        assert len(asked) == 2

    def test_more_hooves_in_a_cell_than_a_block_holds_are_all_matched(self, monkeypatch):
        hooves = 111.0 + np.random.default_rng(4).uniform(0.0, CELL_MM, (50, 2))
        (whole,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        monkeypatch.setattr(bulk, "BLOCK", 8)
        (blocks,) = match_in_bulk(hooves, table=TABLE, believed=believed_of())
        assert blocks.fit_chance == pytest.approx(whole.fit_chance, abs=1e-5)

    def test_another_boot_model_never_changes_what_is_said_of_the_others(self):
        boots = [ladder(count=10), ladder(closure=Closure.STRAP, first=(103.0, 98.0))]
        hooves = some_hooves(80)
        (alone,) = match_in_bulk(hooves, table=size_table(boots[:1]), believed=believed_of())
        (among,) = match_in_bulk(hooves, table=size_table(boots), believed=believed_of())
        assert among.fit_chance[:, :1] == pytest.approx(alone.fit_chance, abs=1e-5)

    def test_a_chart_too_long_for_one_question_is_asked_about_in_parts(self, monkeypatch):
        hooves = some_hooves(30)
        (whole,) = match_in_bulk(hooves, table=TABLE, believed=believed_of(Observer.OWNER))
        monkeypatch.setattr(bulk, "SIZES_AT_ONCE", 3)
        (parts,) = match_in_bulk(hooves, table=TABLE, believed=believed_of(Observer.OWNER))
        assert parts.fit_chance == pytest.approx(whole.fit_chance, abs=1e-5)

    def test_equal_hooves_are_matched_once(self):
        seen = []

        class Counting(BulkMatcher):
            def _match_each(self, read_mm):
                seen.extend(read_mm.tolist())
                return super()._match_each(read_mm)

        hooves = [[110.0, 120.0], [112.0, 120.0], [110.0, 120.0], [110.0, 121.0], [110.0, 120.0], [112.0, 120.0]]
        Counting(TABLE, believed=believed_of()).match(np.array(hooves))
        assert sorted(seen) == [[110.0, 120.0], [110.0, 121.0], [112.0, 120.0]]

    def test_the_hooves_of_a_cell_are_matched_together_and_once(self, monkeypatch):
        """Three hooves in one cell and two in the next, each longer than the last."""
        counts, in_cell = [], bulk._in_cell

        def counted(inside, cell):
            counts.append(len(inside))
            return in_cell(inside, cell)

        monkeypatch.setattr(bulk, "_in_cell", counted)
        hooves = np.array([[120.1, 120.1], [123.1, 120.2], [120.1, 120.3], [123.1, 120.4], [120.1, 120.5]])
        BulkMatcher(TABLE, believed=believed_of()).match(hooves)
        assert sorted(counts) == [2, 3]

    def test_no_more_cells_are_remembered_than_may_be(self, monkeypatch):
        """With room for one, going to another cell and back asks again, twice for each: what is in reach, and nodes."""
        asked = []

        def believed(read_mm):
            asked.append(len(read_mm))
            return believed_of()(read_mm)

        monkeypatch.setattr(bulk, "MOST_CELLS", 1)
        matcher = BulkMatcher(TABLE, believed=believed)
        for width in (120.1, 126.1, 120.1):
            matcher.match(np.array([[width, 120.1]]))
        assert len(asked) == 6

    def test_a_match_of_one_boot_model_takes_eight_bytes(self):
        (found,) = match_in_bulk(some_hooves(3), table=TABLE, believed=believed_of())
        assert (found.best.itemsize, found.fit_chance.itemsize) == (4, 4)


class TestSizes:
    @pytest.mark.parametrize("axis", [0, 1], ids=["width", "length"])
    @pytest.mark.parametrize(("inside", "its_range"), [(0.05, (90.0, 107.5)), (2.95, (117.5, 135.0))])
    def test_a_size_that_one_side_of_a_cell_reaches_is_found_there(self, axis, inside, its_range):
        """It ends 3.5 mm below a cell, or begins as far above it: one hoof in a hundred fits there or two, and not one
        in a thousand in the middle of the cell."""
        believed, read_mm = believed_of(method=Method.CALLIPER), np.full((1, 2), 112.0)
        read_mm[0, axis] = 111.0 + inside
        ranges = [(90.0, 135.0), (90.0, 135.0)]
        ranges[axis] = its_range
        table = size_table([single(*ranges)])
        (found,) = match_in_bulk(read_mm, table=table, believed=believed)
        fits, _ = exactly(read_mm[0], believed=believed, table=table)
        assert fits[0] > 2.0 * ERROR
        assert found.best.tolist() == [[0]]
        assert found.fit_chance[0, 0] == pytest.approx(fits[0], abs=ERROR)

    def test_the_best_size_is_snug_in_a_pull_on_and_in_the_middle_of_any_other(self):
        """A hoof of 120 is snug in 94 to 124 and in the middle of 105 to 135."""
        ranges = [(94.0, 124.0), (105.0, 135.0)]
        boots = [
            BootChart(closure=closure, widths_mm=ranges, lengths_mm=ranges) for closure in (Closure.PULL_ON, *GIVING)
        ]
        (found,) = match_in_bulk(np.array([[120.0, 120.0]]), table=size_table(boots), believed=believed_of())
        assert found.best.tolist() == [[0, *(3 + 2 * place for place in range(len(GIVING)))]]

    def test_a_fit_chance_is_a_chance(self):
        """Between the nodes a polynomial overshoots; where a hoof surely fits or hardly does, it is cut back."""
        inside = np.linspace(0.0, 60.0, 41)
        read_mm = 90.0 + np.stack(np.meshgrid(inside, inside), axis=-1).reshape(-1, 2)
        table = size_table([single((108.0, 132.0), (108.0, 132.0))])
        (found,) = match_in_bulk(read_mm, table=table, believed=believed_of(method=Method.CALLIPER))
        assert found.fit_chance.min() >= 0.0
        assert found.fit_chance.max() <= 1.0


class TestNothing:
    def test_no_hooves_are_no_matches(self):
        assert list(match_in_bulk(np.empty((0, 2)), table=TABLE, believed=believed_of())) == []
        found = BulkMatcher(TABLE, believed=believed_of()).match(np.empty((0, 2)))
        assert found.best.shape == found.fit_chance.shape == (0, 3)

    @pytest.mark.parametrize("across", [60.0, 240.0])
    def test_a_hoof_far_from_every_size_has_none(self, across):
        (found,) = match_in_bulk(np.array([[across, across]]), table=TABLE, believed=believed_of())
        assert found.best.tolist() == [[NO_SIZE] * 3]
        assert found.fit_chance.tolist() == [[0.0] * 3]

    def test_without_boots_nothing_is_said(self):
        (found,) = match_in_bulk(np.array([[120.0, 120.0]]), table=size_table([]), believed=believed_of())
        assert found.best.shape == (1, 0)
