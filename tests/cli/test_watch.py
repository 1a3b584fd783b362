"""Watch on the command line: what is new is taken up, a failure is told and tried again, a signal ends it cleanly."""

import json
import os
import signal
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
import pytest
from tests.cli.running import Run, running

from hooflast.catalog.loading import LoadedCatalog, load_catalog
from hooflast.catalog.progress import OnProgress, Progress, WorkStage
from hooflast.cli import progress
from hooflast.cli import watch as watching
from hooflast.cli.watch import Seconds, seconds_of
from hooflast.errors import PluginFailed
from hooflast.matching.taking_up import TakenUp
from hooflast.store import StoreUnavailable
from hooflast.texts import load_texts

LOADED = load_catalog()
NEW = LOADED.library.releases[-1]


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, sqlite_url: str) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)
    monkeypatch.setattr("hooflast.cli.watch.load_catalog", lambda **_: LOADED)
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: LOADED)
    return running(capfd)


def statuses(run: Run) -> set[str]:
    return {one["status"] for one in json.loads(run("catalog", "list", "--json").out)}


def test_one_look_publishes_what_is_new_and_the_next_finds_nothing(run: Run) -> None:
    first = run("catalog", "watch", "--once", "--by", "mossgate")
    assert (first.code, NEW.edition in first.out, statuses(run)) == (0, True, {"published"})
    assert "Nothing is new." in run("catalog", "watch", "--once").out


def test_staged_only_it_is_left_to_people(run: Run) -> None:
    done = run("catalog", "watch", "--once", "--stage-only")
    assert ("hooflast catalog publish" in done.out, statuses(run)) == (True, {"checked"})


def test_four_eyes_as_a_setting_hold_for_the_watch_and_for_whoever_publishes(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOOFLAST_PUBLISH_EYES", "four")
    run("catalog", "watch", "--once", "--by", "mossgate")
    assert statuses(run) == {"checked"}
    assert run("catalog", "publish", NEW.edition, "--by", "Mossgate").code == 1
    assert run("catalog", "publish", NEW.edition, "--by", "juniper").code == 0


def test_a_plugin_that_fails_is_told_and_the_others_are_taken_up(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    failed = replace(LOADED.reports[0], plugin="hedge", failure=PluginFailed(plugin="hedge", reason="it hangs"))
    loaded = replace(LOADED, reports=(*LOADED.reports, failed))
    monkeypatch.setattr("hooflast.cli.watch.load_catalog", lambda **_: loaded)
    done = run("catalog", "watch", "--once")
    assert (done.code, "it hangs" in done.out, NEW.edition in done.out) == (0, True, True)


def looks(monkeypatch: pytest.MonkeyPatch, *each: Callable[[], TakenUp]) -> list[int]:
    """Let each look in turn come to something, without waiting between two."""
    left, seen = list(each), [0]

    async def take_up(*_: Any, **__: Any) -> TakenUp:
        seen[0] += 1
        return left.pop(0)()

    async def at_once(stopped: Any, *, seconds: float) -> None:
        assert seconds == 300.0

    monkeypatch.setattr(watching, "take_up", take_up)
    monkeypatch.setattr(watching, "_until", at_once)
    return seen


def fails() -> TakenUp:
    raise StoreUnavailable(reason="no answer within 2 s")


def is_signalled(number: int) -> TakenUp:
    os.kill(os.getpid(), number)
    return TakenUp(reports=(), new=(), carried=frozenset())


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_after_a_failure_it_looks_again_until_a_signal_ends_it(
    run: Run, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    before = signal.getsignal(number)
    seen = looks(monkeypatch, fails, fails, lambda: is_signalled(number))
    done = run("catalog", "watch")
    assert (done.code, seen, done.out.count("no answer within 2 s"), "Stopped." in done.out) == (0, [3], 2, True)
    assert signal.getsignal(number) is before


def test_a_single_look_that_fails_says_so_by_its_exit_code(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    looks(monkeypatch, fails)
    assert run("catalog", "watch", "--once").code == 1


def test_with_json_logs_every_line_is_an_event(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOOFLAST_LOG_FORMAT", "json")
    done = run("catalog", "watch", "--once")
    events = [json.loads(line) for line in done.err.splitlines()]
    assert done.out == ""
    assert {"said": "published", "edition": NEW.edition}.items() <= events[-1].items()


@pytest.mark.parametrize(
    ("written", "seconds"), [("30s", 30.0), ("5m", 300.0), ("1h", 3600.0), ("90", 90.0), ("1.5m", 90.0)]
)
def test_a_time_is_read_with_its_unit(written: str, seconds: float) -> None:
    assert seconds_of(written) == seconds


@pytest.mark.parametrize("written", ["", "m", "0s", "-5m", "nan", "inf", "8 days", "169h"])
def test_what_is_no_time_is_refused(written: str) -> None:
    with pytest.raises(click.BadParameter):
        Seconds().convert(written, None, None)


def test_progress_is_told_once_for_each_thing_again_after_a_while_and_not_of_short_work() -> None:
    told: list[Progress] = []
    moments = iter([0.0, 1.0, 3.0, 4.0, 5.0, 15.5])
    listen = progress.after(2.0, told.append, clock=lambda: next(moments))
    work = (("demo", 1), ("folder", 1), ("folder", 2), ("sheet", 1), ("sheet", 7))
    steps = [Progress(stage=WorkStage.READING, about=about, done=done, of=9) for about, done in work]
    for step in steps:
        listen(step)
    assert told == [steps[1], steps[3], steps[4]]
    assert "file 7 of 9" in progress.told(steps[4], texts=load_texts("en"))


def test_with_json_logs_progress_is_an_event_on_standard_error_alone(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOOFLAST_LOG_FORMAT", "json")
    monkeypatch.setattr(progress, "QUIET_SECONDS", 0.0)

    def load(*, on_progress: OnProgress, **_: object) -> LoadedCatalog:
        on_progress(Progress(stage=WorkStage.ASKING, about="demo", of=1))
        return LOADED

    monkeypatch.setattr("hooflast.cli.offered.load_catalog", load)
    done = run("catalog", "check", "--offered", "--json")
    assert json.loads(done.out)["catalog_release"] == NEW.id
    (event,) = [json.loads(line) for line in done.err.splitlines()]
    assert {"event": "progress", "stage": "asking", "about": "demo"}.items() <= event.items()
