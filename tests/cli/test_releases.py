"""Catalog releases on the command line: taken from the plugins to those who match, compared, and taken back."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests import demo

from hooflast.catalog.comparing import compare_releases
from hooflast.catalog.library import Library
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.naming import short_id
from hooflast.catalog.release import release_id
from hooflast.cli import main
from hooflast.errors import PluginFailed

LOADED = demo.offered()
RELEASES = LOADED.library.releases
OLD, NEW = RELEASES[-2], RELEASES[-1]


class Ran:
    """What one run of the command line came to."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err


Run = Callable[..., Ran]


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, sqlite_url: str) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: LOADED)

    def run(*arguments: str) -> Ran:
        code = 0
        try:
            main(arguments)
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return Ran(code, out, err)

    return run


def listed(run: Run) -> dict[str, Any]:
    return {one["id"]: one for one in json.loads(run("catalog", "list", "--json").out)}


def publish(run: Run, edition: str) -> None:
    for step in (("stage", "--edition", edition), ("check", edition), ("publish", edition)):
        done = run("catalog", *step, "--by", "mossgate")
        assert done.code == 0, done.err


class TestTheLifeOfARelease:
    def test_staged_checked_and_published_it_is_the_active_one(self, run: Run) -> None:
        staged = run("catalog", "stage", "--by", "mossgate", "--note", "for spring")
        assert (staged.code, short_id(NEW.id) in staged.out) == (0, True)
        assert listed(run)[NEW.id]["status"] == "staged"
        checked = run("catalog", "check", NEW.edition, "--by", "mossgate")
        assert f"hooflast catalog publish {short_id(NEW.id)}" in checked.out
        run("catalog", "publish", short_id(NEW.id), "--by", "tarn-and-tether")
        (kept,) = listed(run).values()
        assert (kept["id"], kept["status"], kept["is_active"]) == (NEW.id, "published", True)
        assert [(step["step"], step["by"], step["note"]) for step in kept["steps"]] == [
            ("stage", "mossgate", "for spring"),
            ("check", "mossgate", ""),
            ("publish", "tarn-and-tether", ""),
        ]

    def test_a_plugin_that_is_left_out_is_told_before_anything_is_kept(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        failed = PluginReport(plugin="hedge", version="1", failure=PluginFailed(plugin="hedge", reason="it hangs"))
        loaded = replace(LOADED, reports=(*LOADED.reports, failed))
        monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: loaded)
        assert run("catalog", "stage").out.startswith("The plugin hedge has 1 fault")

    def test_whoever_takes_a_step_is_by_default_the_user_of_the_machine(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("getpass.getuser", lambda: "juniper")
        run("catalog", "stage")
        assert listed(run)[NEW.id]["author"] == "juniper"

    def test_what_was_not_checked_is_not_published_and_it_is_said_why(self, run: Run) -> None:
        run("catalog", "stage")
        refused = run("catalog", "publish", NEW.edition)
        assert refused.code == 1
        assert "checked" in refused.err
        assert listed(run)[NEW.id]["status"] == "staged"

    def test_with_four_eyes_another_must_publish(self, run: Run) -> None:
        run("catalog", "stage", "--by", "mossgate")
        run("catalog", "check", NEW.edition)
        refused = run("catalog", "publish", NEW.edition, "--by", "mossgate", "--four-eyes")
        assert (refused.code, "somebody else" in refused.err) == (1, True)
        assert run("catalog", "publish", NEW.edition, "--by", "tarn-and-tether", "--four-eyes").code == 0

    def test_a_check_tells_what_is_doubtful_beside_the_active_one(self, run: Run) -> None:
        publish(run, NEW.edition)
        run("catalog", "stage", "--edition", OLD.edition)
        report = json.loads(run("catalog", "check", OLD.edition, "--json").out)
        assert (report["catalog_release"], report["since"]) == (OLD.id, NEW.id)
        assert "older-than-active" in {point["code"] for point in report["points"]}
        told = run("catalog", "check", OLD.edition).out
        assert all(point["text"] in told for point in report["points"])

    def test_rolled_back_the_one_before_is_served_again(self, run: Run) -> None:
        publish(run, OLD.edition)
        publish(run, NEW.edition)
        run("catalog", "rollback", "--note", "a slip in the chart")
        assert {release: one["is_active"] for release, one in listed(run).items()} == {OLD.id: True, NEW.id: False}
        run("catalog", "rollback", "--to", NEW.edition)
        assert listed(run)[NEW.id]["is_active"]

    def test_the_active_one_is_withdrawn_with_another_in_its_place_and_can_be_purged(self, run: Run) -> None:
        publish(run, OLD.edition)
        publish(run, NEW.edition)
        assert run("catalog", "withdraw", NEW.edition).code == 1
        assert run("catalog", "withdraw", NEW.edition, "--instead", OLD.edition).code == 0
        assert run("catalog", "purge", NEW.edition).code == 0
        kept = listed(run)
        assert (kept[NEW.id]["status"], kept[NEW.id]["is_gone"], kept[OLD.id]["is_active"]) == ("withdrawn", True, True)
        assert run("catalog", "withdraw", OLD.edition, "--serve-none").code == 0
        assert not listed(run)[OLD.id]["is_active"]

    def test_the_list_shows_each_with_its_status(self, run: Run) -> None:
        publish(run, OLD.edition)
        run("catalog", "stage", "--by", "mossgate")
        shown = run("catalog", "list").out
        for release in (OLD, NEW):
            assert release.edition in shown
            assert short_id(release.id) in shown
        assert "active" in shown

    def test_an_empty_store_lists_nothing(self, run: Run) -> None:
        assert json.loads(run("catalog", "list", "--json").out) == []

    @pytest.mark.parametrize("command", ["check", "publish", "withdraw", "purge"])
    def test_what_is_not_there_is_not_found(self, run: Run, command: str) -> None:
        ran = run("catalog", command, "2001-01-01")
        assert (ran.code, "2001-01-01" in ran.err) == (1, True)

    def test_without_tables_it_is_said_what_to_do(
        self, run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        monkeypatch.setenv("HOOFLAST_DATABASE_URL", f"sqlite:///{tmp_path / 'empty.sqlite3'}")
        ran = run("catalog", "list")
        assert (ran.code, "There are no tables yet" in ran.err) == (1, True)


HORSES = [
    {"horse": {"name": "Bramble"}, "hooves": [{"limb": "LF", "width": width, "length": width + 3}]}
    for width in range(100, 150, 5)
]


class TestDiff:
    def test_each_change_is_told(self, run: Run) -> None:
        changes = compare_releases(OLD, NEW)
        ran = run("catalog", "diff", OLD.edition, NEW.edition)
        assert ran.code == 0
        for one in changes.records:
            assert one.id in ran.out
            assert all(size.code in ran.out for size in one.sizes)
        told = json.loads(run("catalog", "diff", OLD.edition, NEW.edition, "--json").out)
        assert [(one["kind"], one["id"], one["change"]) for one in told["changes"]] == [
            (one.kind, one.id, one.change) for one in changes.records
        ]
        assert told["effects"] is None

    def test_another_name_another_order_and_another_axis_are_told(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        first = next(iter(NEW.boots.values()))
        one, two, *rest = first.sizes
        other = replace(
            first,
            name="Sedgewick",
            note="",
            sizes=(two, replace(one, width=None, length=one.length or one.width), *rest),
        )
        changed = replace(NEW, edition="2030-01-01", boots={**NEW.boots, first.id: other})
        changed = replace(changed, id=release_id(changed))
        loaded = replace(LOADED, library=Library(releases=(*RELEASES, changed)))
        monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: loaded)
        shown = run("catalog", "diff", NEW.edition, "2030-01-01").out
        assert first.name in shown
        assert "Sedgewick" in shown
        assert f"order {two.code}" in shown
        assert f"size {one.code}" in shown

    def test_a_release_and_itself_differ_in_nothing(self, run: Run) -> None:
        told = json.loads(run("catalog", "diff", NEW.edition, short_id(NEW.id), "--json").out)
        assert told["changes"] == []
        assert "Nothing changed" in run("catalog", "diff", NEW.edition, NEW.edition).out

    def test_the_horses_of_a_file_are_tried_on_both(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "herd.json").write_text(json.dumps(HORSES))
        (tmp_path / "herd.ndjson").write_text("\n".join(map(json.dumps, HORSES)))
        both = [
            json.loads(run("catalog", "diff", RELEASES[0].edition, NEW.edition, "--horses", name, "--json").out)[
                "effects"
            ]
            for name in ("herd.json", "herd.ndjson")
        ]
        assert both[0] == both[1]
        assert both[0]["hooves_asked"] == len(HORSES)
        shown = run("catalog", "diff", RELEASES[0].edition, NEW.edition, "--horses", "herd.json").out
        assert f"{both[0]['hooves_changed']} of {len(HORSES)}" in shown
        for horse in both[0]["horses"]:
            assert horse["hooves"][0]["effects_text"] in shown

    def test_faults_of_the_horses_are_told_at_their_lines(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "herd.ndjson").write_text(json.dumps(HORSES[0]) + "\n{}\n")
        ran = run("catalog", "diff", OLD.edition, NEW.edition, "--horses", "herd.ndjson")
        assert (ran.code, ran.out) == (2, "")
        assert "hooves" in ran.err

    def test_releases_in_the_store_are_compared_too(self, run: Run) -> None:
        for edition in (OLD.edition, NEW.edition):
            run("catalog", "stage", "--edition", edition)
        stored = run("catalog", "diff", OLD.edition, NEW.edition, "--stored", "--json")
        assert stored.out == run("catalog", "diff", OLD.edition, NEW.edition, "--json").out

    def test_what_is_not_there_is_not_found(self, run: Run) -> None:
        for stored in ((), ("--stored",)):
            assert run("catalog", "diff", "2001-01-01", NEW.edition, *stored).code == 1


class TestPresent:
    def test_a_boot_model_that_ended_leads_to_its_successor(self, run: Run) -> None:
        old = next(model for model in NEW.boots.values() if model.successor is not None)
        new = NEW.boots[old.successor]
        ran = run("catalog", "present", old.name, old.sizes[0].code)
        assert (ran.code, old.name in ran.out, new.name in ran.out) == (0, True, True)
        told = json.loads(run("catalog", "present", old.id, old.sizes[0].code, "--json").out)
        assert (told["status"], [step["boot"] for step in told["steps"]]) == ("measure_again", [old.id, new.id])

    def test_a_size_in_sale_leads_to_itself(self, run: Run) -> None:
        current = next(model for model in NEW.boots.values() if model.discontinued_on is None)
        told = json.loads(run("catalog", "present", current.id, current.sizes[-1].code, "--json").out)
        assert (told["status"], told["steps"][0]["size"]) == ("in_sale", current.sizes[-1].code)

    @pytest.mark.parametrize("named", [("nobody",), (next(iter(NEW.boots)), "no such size")])
    def test_what_is_not_there_is_not_found(self, run: Run, named: tuple[str, ...]) -> None:
        assert run("catalog", "present", *named).code == 1


class TestProvenance:
    def test_what_was_published_is_verified_and_told_whole_or_one_record_alone(self, run: Run) -> None:
        publish(run, NEW.edition)
        whole = run("catalog", "provenance", NEW.edition)
        first = next(iter(NEW.boots))
        assert (whole.code, "are as they were sealed" in whole.out, first in whole.out) == (0, True, True)
        told = run("catalog", "provenance", NEW.edition, first)
        assert (told.code, "is as it was sealed" in told.out) == (0, True)
        alone = json.loads(run("catalog", "provenance", NEW.edition, first, "--json").out)
        assert (alone["statement"]["id"], alone["statement"]["plugin"], alone["record"]["id"]) == (first, "demo", first)

    def test_what_was_never_published_has_no_seal_and_what_is_not_there_no_proof(self, run: Run) -> None:
        run("catalog", "stage")
        assert run("catalog", "provenance", NEW.edition).code == 1
        run("catalog", "check", NEW.edition)
        run("catalog", "publish", NEW.edition)
        assert run("catalog", "provenance", NEW.edition, "nobody").code == 1
