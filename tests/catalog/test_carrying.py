"""Carrying: nobody loses a boot model because its plugin fails, and nothing is kept of one that says otherwise."""

from dataclasses import replace
from datetime import date

import pytest
from tests.matching.worlds import HERE, boot, release_of

from hooflast.catalog.carrying import carry_over, unreliable
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.values import BootModel, CatalogRelease, MakerId
from hooflast.errors import PluginFailed

SPRING, AUTUMN = date(2026, 3, 1), date(2026, 9, 1)


def from_plugin(plugin: str, *boots: BootModel) -> list[BootModel]:
    return [replace(one, provenance=replace(HERE, plugin=plugin)) for one in boots]


def catalog(*boots: BootModel, day: date = SPRING) -> CatalogRelease:
    release = release_of(*boots)
    makers = {key: replace(one, provenance=replace(HERE, plugin="folder")) for key, one in release.makers.items()}
    return replace(release, released_on=day, makers=makers)


def answered(plugin: str, **told: tuple[date, ...]) -> PluginReport:
    return PluginReport(plugin=plugin, version="1", **told)  # type: ignore[arg-type]


FAILED = PluginReport(plugin="entry", version="1", failure=PluginFailed(plugin="entry", reason="it hangs"))
ACTIVE = catalog(*from_plugin("folder", boot("amble")), *from_plugin("sheet", boot("brook"), boot("clover")))


class TestUnreliable:
    def test_where_all_answer_nobody_is(self) -> None:
        assert unreliable([answered("folder"), answered("sheet")], active=ACTIVE) == frozenset()

    def test_where_one_fails_it_is_those_with_records_that_did_not_answer(self) -> None:
        assert unreliable([answered("folder"), FAILED], active=ACTIVE) == {"sheet"}
        assert unreliable([answered("folder"), answered("sheet"), FAILED], active=ACTIVE) == frozenset()

    def test_one_that_is_no_longer_installed_is_not_missed(self) -> None:
        assert unreliable([answered("folder")], active=ACTIVE) == frozenset()

    @pytest.mark.parametrize(
        ("editions", "refused", "is_behind"),
        [((), (SPRING,), True), ((SPRING,), (AUTUMN,), True), ((AUTUMN,), (SPRING,), False), ((SPRING,), (), False)],
    )
    def test_one_whose_newest_edition_is_refused_is_behind(
        self, editions: tuple[date, ...], refused: tuple[date, ...], is_behind: bool
    ) -> None:
        reports = [answered("folder"), answered("sheet", editions=editions, refused=refused)]
        assert unreliable(reports, active=ACTIVE) == ({"sheet"} if is_behind else set())

    def test_one_that_waits_for_its_settings_has_not_answered(self) -> None:
        waiting = PluginReport(plugin="sheet", version="1", waits_for=("path",))
        assert unreliable([answered("folder"), waiting], active=ACTIVE) == {"sheet"}


class TestCarryOver:
    def test_records_of_a_failing_plugin_stay_as_they_were_and_others_move_on(self) -> None:
        newest = catalog(*from_plugin("folder", boot("amble"), boot("dapple")), day=AUTUMN)
        carried = carry_over(newest, active=ACTIVE, plugins=frozenset({"sheet"}))
        assert carried is not None
        assert set(carried.boots) == {"amble", "brook", "clover", "dapple"}
        assert (carried.boots["brook"], carried.released_on) == (ACTIVE.boots["brook"], AUTUMN)  # type: ignore[index]

    def test_where_nothing_else_changed_there_is_nothing_to_take_up(self) -> None:
        newest = catalog(*from_plugin("folder", boot("amble")), day=AUTUMN)
        assert carry_over(newest, active=ACTIVE, plugins=frozenset({"sheet"})) is None

    def test_what_the_failing_plugin_offered_of_old_does_not_come_back(self) -> None:
        """Its last edition that could be read may be older than what is served."""
        newest = catalog(*from_plugin("folder", boot("dapple")), *from_plugin("sheet", boot("elder")))
        carried = carry_over(newest, active=ACTIVE, plugins=frozenset({"sheet"}))
        assert carried is not None
        assert set(carried.boots) == {"dapple", "brook", "clover"}

    def test_a_maker_that_carried_boot_models_name_stays(self) -> None:
        newest = replace(catalog(*from_plugin("folder", boot("dapple"))), makers={})
        carried = carry_over(newest, active=ACTIVE, plugins=frozenset({"sheet"}))
        assert carried is not None
        assert set(carried.makers) == {MakerId("haskeby")}

    def test_it_is_never_of_an_earlier_day_than_what_is_served(self) -> None:
        newest = catalog(*from_plugin("folder", boot("dapple")), day=date(2025, 1, 1))
        carried = carry_over(newest, active=ACTIVE, plugins=frozenset({"sheet"}))
        assert carried is not None
        assert carried.released_on == SPRING
