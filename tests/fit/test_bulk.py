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
from hooflast.fit.sizes import SizeTable, size_table

from .strategies import animal_types, bounded, charts, ladder, limbs, read

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


class TestNothing:
    def test_no_hooves_are_no_matches(self):
        assert list(match_in_bulk(np.empty((0, 2)), table=TABLE, believed=believed_of())) == []
        found = BulkMatcher(TABLE, believed=believed_of()).match(np.empty((0, 2)))
        assert found.best.shape == found.fit_chance.shape == (0, 3)

    def test_a_hoof_far_from_every_size_has_none(self):
        (found,) = match_in_bulk(np.array([[60.0, 60.0]]), table=TABLE, believed=believed_of())
        assert found.best.tolist() == [[NO_SIZE] * 3]
        assert found.fit_chance.tolist() == [[0.0] * 3]

    def test_without_boots_nothing_is_said(self):
        (found,) = match_in_bulk(np.array([[120.0, 120.0]]), table=size_table([]), believed=believed_of())
        assert found.best.shape == (1, 0)
