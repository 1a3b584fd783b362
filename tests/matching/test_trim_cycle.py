"""The trim cycle of a horse in a boot: what is told and advised, and what a foal or a painful foot is not told."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import BOOTS, SHELF, TODAY, boot, question, reading, readings, shelf_of

from hooflast.catalog.values import BootId, LimbSet, Range, Size, SizeCode
from hooflast.errors import InputRefused
from hooflast.fit.boot import Closure, Course, Need
from hooflast.fit.cycle import Moment, Turn, TurnSide
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import Beside, PastReading
from hooflast.fit.hoof import Axis, AxisReading, HoofReading, Limb, Method
from hooflast.fit.remark import Severity
from hooflast.matching.question import NamedNeed
from hooflast.matching.size_in_cycle import SizeInCycle
from hooflast.matching.trim_cycle import answer_trim_cycle
from hooflast.matching.trim_cycle_advice import advice
from hooflast.matching.trim_cycle_answer import CycleAnswer, CycleQuestion, HoofInCycle

few = settings(max_examples=15, deadline=None)
AMBLE = BootId("amble")
PAINFUL = (NamedNeed(need=Need.FOUNDER),)
WIDE = boot("wide", sizes=tuple(
    Size(code=SizeCode(code), width=Range(low_mm=low, high_mm=low + 16), length=Range(low_mm=low, high_mm=low + 16))
    for code, low in (("wren", 100.0), ("finch", 114.0), ("lark", 128.0))
))  # fmt: skip


def asked(*hooves: HoofReading, shelf=SHELF, horse: dict[str, object] | None = None, **changes: object) -> CycleAnswer:
    fields: dict[str, object] = {
        "horse": question(*(hooves or (reading(method=Method.CALLIPER),)), **(horse or {})),
        "cycle_weeks": 6.0,
        "boot": AMBLE,
        "histories": {},
    }
    told = CycleQuestion(**(fields | changes))  # type: ignore[arg-type]
    return answer_trim_cycle(told, shelf, today=TODAY, language="en")


def alone(*hooves: HoofReading, **changes: object) -> HoofInCycle:
    (hoof,) = asked(*hooves, **changes).hooves  # type: ignore[arg-type]
    return hoof


def codes(remarks) -> list[str]:
    return [remark.code for remark in remarks]


def lived(cycles: int = 4, *, per_week: float = 1.5) -> tuple[PastReading, ...]:
    """A hoof that grows much and is trimmed back every six weeks."""
    return tuple(
        PastReading(
            reading=reading(width=124.0 + grown, length=126.0 + grown, method=Method.CALLIPER),
            weeks_ago=6.0 * back,
            beside=beside,
        )
        for back in range(cycles, 0, -1)
        for beside, grown in ((Beside.BEFORE_TRIM, 6.0 * per_week), (Beside.AFTER_TRIM, 0.0))
    )


class TestWhatIsTold:
    def test_the_size_looked_at_comes_first_and_then_its_neighbours(self) -> None:
        sizes = [one.size.code for one in alone().sizes]
        order = [size.code for size in BOOTS[0].sizes]
        at = order.index(sizes[0])
        assert sizes[1:] == [order[at - 1], order[at + 1]]

    def test_a_size_may_be_named(self) -> None:
        assert alone(size=SizeCode("rook")).sizes[0].size.code == "rook"

    def test_the_largest_size_has_one_neighbour(self) -> None:
        assert [one.size.code for one in alone(size=SizeCode("crane")).sizes] == ["crane", "heron"]

    def test_without_a_size_it_is_the_best_for_the_freshly_trimmed_hoof(self) -> None:
        """Measured at the end of the cycle the hoof is larger than it will be after the trim."""
        fresh, late = (
            alone(reading(width=128.0, length=130.0, method=Method.CALLIPER, weeks_since_trim=weeks), cycle_weeks=12.0)
            for weeks in (0.0, 12.0)
        )
        order = [size.code for size in BOOTS[0].sizes]
        assert order.index(late.sizes[0].size.code) < order.index(fresh.sizes[0].size.code)

    def test_without_a_boot_each_hoof_has_its_own(self) -> None:
        fore, hind = asked(reading(), reading(Limb.LH), boot=None).hooves
        assert fore.boot is not None
        assert hind.boot is not None
        assert fore.boot.limbs is not LimbSet.HIND
        assert hind.boot.limbs is not LimbSet.FORE

    @few
    @given(readings, st.floats(2.0, 16.0), st.frozensets(st.sampled_from(Circumstance)))
    def test_chances_are_chances_and_hold_together(self, hoof, weeks, circumstances) -> None:
        found = alone(hoof, cycle_weeks=weeks, circumstances=circumstances)
        for size in found.sizes:
            assert 0.0 <= size.holds_chance <= min(size.chances.values()) <= 1.0
        still = [week.still_fits_chance for week in found.weeks]
        assert still == sorted(still, reverse=True)
        assert all(week.still_fits_chance <= week.fit_chance + 1e-12 for week in found.weeks)

    @few
    @given(readings, st.floats(2.0, 16.0))
    def test_the_weeks_run_from_the_trim_to_the_end_of_the_cycle(self, hoof, weeks) -> None:
        told = [week.week for week in alone(hoof, cycle_weeks=weeks).weeks]
        assert told == sorted(set(told))
        assert (told[0], told[-1]) == (0.0, weeks)

    def test_the_first_and_last_week_are_the_moments(self) -> None:
        found = alone()
        assert found.weeks[0].fit_chance == pytest.approx(found.sizes[0].chances[Moment.AFTER_TRIM])
        assert found.weeks[-1].fit_chance == pytest.approx(found.sizes[0].chances[Moment.END_OF_CYCLE])

    def test_its_own_history_counts(self) -> None:
        usual, own = alone(), alone(histories={Limb.LF: lived()})
        assert (usual.own_readings, own.own_readings) == (0, 8)
        assert own.learned is not None
        assert usual.learned is not None
        assert own.learned.changes.mean[0] > usual.learned.changes.mean[0] + 0.5
        assert own.weeks[-1].width.mean_mm > usual.weeks[-1].width.mean_mm

    def test_another_hoofs_history_does_not(self) -> None:
        assert alone(histories={Limb.RF: lived()}).own_readings == 0

    def test_it_is_the_same_every_time(self) -> None:
        one, other = asked(), asked()
        assert [hoof.sizes for hoof in one.hooves] == [hoof.sizes for hoof in other.hooves]

    def test_a_boot_no_longer_made_is_looked_at_for_its_owner(self) -> None:
        assert alone(boot=BootId("gorse")).sizes

    def test_a_boot_for_standing_is_looked_at_when_named(self) -> None:
        assert alone(boot=BootId("elder")).sizes


class TestCautionsAndAssumptions:
    def test_a_foal_is_told_no_size(self) -> None:
        answer = asked(horse={"is_foal": True})
        assert "foal" in codes(answer.cautions)
        (hoof,) = answer.hooves
        assert not hoof.sizes
        assert not hoof.weeks
        assert not hoof.advice
        assert hoof.learned is None
        assert hoof.own_readings == 0
        assert not answer.assumptions

    def test_a_painful_foot_has_one_size_and_no_advice_but_to_ask(self) -> None:
        found = alone(horse={"needs": PAINFUL}, boot=BootId("fallow"))
        assert len(found.sizes) == 1
        assert codes(found.advice) == ["ask-first"]

    def test_a_painful_foot_gets_no_boot_to_ride_in(self) -> None:
        answer = asked(horse={"needs": PAINFUL})
        assert answer.hooves[0].sizes == ()
        assert "boot-not-for-this-hoof" in codes(answer.hooves[0].cautions)
        assert Severity.STOP in {caution.severity for caution in answer.cautions}

    def test_a_boot_for_the_other_limbs_is_told_so(self) -> None:
        assert "boot-not-for-this-hoof" in codes(alone(boot=BootId("dell")).cautions)

    def test_a_hoof_no_boot_is_near_is_told_so(self) -> None:
        found = alone(reading(width=220.0, length=220.0), boot=None)
        assert found.boot is None
        assert "no-boot-near" in codes(found.cautions)

    def test_a_reading_late_in_the_cycle_is_no_fault_but_one_past_it_is(self) -> None:
        late, past = (codes(alone(reading(weeks_since_trim=weeks)).cautions) for weeks in (6.0, 6.1))
        assert "trim-long-ago" not in late + past
        assert ("trim-overdue" in late, "trim-overdue" in past) == (False, True)

    @pytest.mark.parametrize(
        ("code", "hoof", "changes"),
        [
            ("any-week-of-the-cycle", reading(weeks_since_trim=None), {}),
            ("method-unknown", reading(method=Method.UNKNOWN), {}),
            ("usual-growth", reading(), {}),
            ("under-circumstances", reading(), {"circumstances": frozenset({Circumstance.SHOD})}),
            (
                "under-circumstances",
                reading(),
                {"horse": {"needs": (NamedNeed(need=Need.OUT_OF_SHOES, course=Course.CHRONIC),)}},
            ),
        ],
    )
    def test_what_is_assumed_is_told(self, code, hoof, changes) -> None:
        told = asked(hoof, **changes).assumptions
        assert code in codes(told)
        assert codes(told)[-2:] == ["steady-cycle", "one-boot-throughout"]

    def test_nothing_is_assumed_that_was_told(self) -> None:
        told = asked(histories={Limb.LF: lived()}).assumptions
        assert codes(told) == ["steady-cycle", "one-boot-throughout"]

    def test_a_boot_the_catalog_has_not_is_refused(self) -> None:
        with pytest.raises(InputRefused) as refused:
            asked(boot=BootId("nettle"))
        assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("/boot", "boot-unknown")]

    def test_a_size_the_boot_has_not_is_refused_with_those_it_has(self) -> None:
        with pytest.raises(InputRefused) as refused:
            asked(size=SizeCode("ostrich"))
        (fault,) = refused.value.faults
        assert (fault.pointer, fault.code) == ("/size", "size-unknown")
        assert "wren, finch" in str(fault.facts["accepted_list"])


def sized(code: str, *, after: float, end: float, holds: float) -> SizeInCycle:
    chances = {Moment.AS_MEASURED: after, Moment.AFTER_TRIM: after, Moment.END_OF_CYCLE: end}
    size = next(one for one in BOOTS[0].sizes if one.code == code)
    return SizeInCycle(size=size, chances=chances, holds_chance=holds)


HOLDS = sized("dove", after=0.9, end=0.9, holds=0.85)


def advised(*sizes: SizeInCycle, model=BOOTS[0], weeks=(), turns=None, own_readings=0) -> dict[str, dict[str, object]]:
    found = advice(
        sizes or (HOLDS,), boot=model, cycle_weeks=6.0, weeks=weeks, turns=turns or {}, own_readings=own_readings
    )
    return {remark.code: dict(remark.facts) for remark in found}


class TestAdvice:
    def test_a_size_likelier_than_not_to_fit_throughout_holds(self) -> None:
        assert advised()["holds"] == {"size": "dove", "holds_chance": 0.85}

    def test_a_neighbour_that_holds_more_surely_is_named(self) -> None:
        found = advised(sized("dove", after=0.9, end=0.4, holds=0.4), sized("rook", after=0.7, end=0.8, holds=0.6))
        assert found["neighbour-holds-better"]["other_size"] == "rook"
        assert "none-holds" not in found

    def test_one_that_holds_hardly_more_surely_is_not(self) -> None:
        found = advised(sized("dove", after=0.9, end=0.6, holds=0.6), sized("rook", after=0.7, end=0.8, holds=0.64))
        assert found["holds"]["size"] == "dove"

    def test_where_none_holds_the_nearest_is_named(self) -> None:
        found = advised(sized("dove", after=0.9, end=0.3, holds=0.3), sized("rook", after=0.4, end=0.8, holds=0.4))
        assert found["none-holds"] == {"size": "dove", "holds_chance": 0.3, "other_size": "rook"}
        alone_ = advised(sized("dove", after=0.9, end=0.3, holds=0.3))
        assert "other_size" not in alone_["none-holds"]

    def test_where_none_holds_the_longest_cycle_that_would_is_told(self) -> None:
        found = alone(reading(width=120.0, length=124.5, method=Method.CALLIPER), cycle_weeks=12.0)
        told = {remark.code: remark.facts for remark in found.advice}
        weeks = float(told["shorten-the-cycle"]["cycle_weeks"])
        by_week = {week.week: week.still_fits_chance for week in found.weeks}
        assert by_week[weeks] >= 0.5 > by_week[weeks + 1]

    def test_a_size_that_does_not_even_hold_a_week_is_told_no_shorter_cycle(self) -> None:
        found = alone(reading(width=120.0, length=140.0, method=Method.CALLIPER))
        assert "shorten-the-cycle" not in codes(found.advice)

    @pytest.mark.parametrize(
        ("closure", "is_told"), [(Closure.PULL_ON, True), (Closure.BUCKLE, True), (Closure.STRAP, False)]
    )
    def test_a_closure_that_gives_more_is_named_where_there_is_one(self, closure, is_told) -> None:
        found = advised(sized("dove", after=0.9, end=0.3, holds=0.3), model=replace(BOOTS[0], closure=closure))
        assert ("closure-that-takes-up" in found) is is_told

    def test_a_size_that_holds_needs_no_way_out(self) -> None:
        assert not {"shorten-the-cycle", "closure-that-takes-up"} & advised(model=BOOTS[1]).keys()

    @pytest.mark.parametrize(
        ("turned", "code", "facts"),
        [
            (
                (TurnSide.TIGHT, 5.04, 2.96, 9.0),
                "turns-tight",
                {"turn_weeks": 5.0, "early_weeks": 3.0, "late_weeks": 9.0},
            ),
            ((TurnSide.LOOSE, 5.0, 0.4, None), "turns-loose", {"turn_weeks": 5.0}),
            ((TurnSide.TIGHT, None, 4.0, None), "may-turn-tight", {"early_weeks": 4.0}),
            ((TurnSide.LOOSE, None, 0.0, None), "may-turn-loose", {}),
            ((TurnSide.TIGHT, 0.0, 0.0, 3.0), "tight-from-the-trim", {"late_weeks": 3.0}),
            ((TurnSide.LOOSE, 0.0, 0.0, None), "loose-from-the-trim", {}),
        ],
    )
    def test_a_turn_is_told_by_its_side_and_week(self, turned, code, facts) -> None:
        side, week, early, late = turned
        found = advised(turns={Axis.WIDTH: Turn(side=side, week=week, early_week=early, late_week=late)})
        assert found[code] == {"axis": "width", **facts}

    @pytest.mark.parametrize(("early", "is_told"), [(6.0, True), (6.1, False)])
    def test_a_turn_that_hardly_comes_within_the_cycle_is_not_told(self, early, is_told) -> None:
        late = Turn(side=TurnSide.TIGHT, week=9.0, early_week=early, late_week=12.0)
        assert ("turns-tight" in advised(turns={Axis.WIDTH: late})) is is_told

    def test_an_axis_that_does_not_turn_is_not_told(self) -> None:
        assert set(advised(turns={Axis.WIDTH: None})) == {"holds", "measure-freshly-trimmed", "measure-at-both"}

    @pytest.mark.parametrize(
        ("after", "end", "code"),
        [
            (0.9, 0.6, "measure-before-the-trim"),
            (0.6, 0.9, "measure-after-the-trim"),
            (0.9, 0.89, "measure-freshly-trimmed"),
        ],
    )
    def test_the_moment_that_decides_is_the_one_to_measure_at(self, after, end, code) -> None:
        found = advised(sized("dove", after=after, end=end, holds=0.55))
        assert code in found
        assert found[code].get("fit_chance", min(after, end)) == min(after, end)

    def test_a_horse_whose_own_growth_is_known_is_not_asked_for_more(self) -> None:
        assert "measure-at-both" not in advised(own_readings=4)


class TestTheWholeOfIt:
    def test_a_wide_range_holds_where_narrow_ones_turn(self) -> None:
        hoof = reading(width=120.0, length=121.0, method=Method.CALLIPER)
        wide = alone(hoof, shelf=shelf_of(WIDE), boot=BootId("wide"))
        assert codes(wide.advice)[0] == "holds"
        assert wide.sizes[0].holds_chance > alone(hoof).sizes[0].holds_chance

    def test_a_longer_cycle_holds_less(self) -> None:
        held = [alone(cycle_weeks=weeks).sizes[0].holds_chance for weeks in (3.0, 6.0, 9.0, 12.0)]
        assert held == sorted(held, reverse=True)

    def test_left_and_right_are_alike(self) -> None:
        left, right = asked(reading(Limb.LF), reading(Limb.RF)).hooves
        assert [one.holds_chance for one in left.sizes] == pytest.approx([one.holds_chance for one in right.sizes])

    def test_the_order_of_the_hooves_does_not_matter(self) -> None:
        hooves = (reading(Limb.LF), reading(Limb.RH, width=119.0, length=124.0))
        there, back = asked(*hooves).hooves, asked(*hooves[::-1]).hooves
        for one, other in zip(there, back[::-1], strict=True):
            assert one.sizes == other.sizes

    def test_turns_are_told_for_both_dimensions(self) -> None:
        assert set(alone().turns) == set(Axis)
        assert alone(boot=BootId("heath")).turns[Axis.LENGTH] is None

    def test_a_repeated_reading_is_surer(self) -> None:
        once = alone()
        axis = AxisReading(values_mm=(124.0, 124.0, 124.0, 124.0))
        more = alone(replace(reading(method=Method.CALLIPER), width=axis))
        assert more.weeks[0].width.standard_uncertainty_mm < once.weeks[0].width.standard_uncertainty_mm
