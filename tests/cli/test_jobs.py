"""Jobs on the command line: a file handed over, followed to its end, read, cancelled and removed."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from tests import databases
from tests.api.samples import LIBRARY, NEWER, OLDER, put_out
from tests.cli.running import Run, running
from tests.jobs.job_samples import file_of

from hooflast.api.job_media import CSV_EXAMPLE


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], sqlite_url: str, monkeypatch: pytest.MonkeyPatch) -> Run:
    databases.complete(put_out(LIBRARY, sqlite_url))
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)
    return running(capfd)


@pytest.fixture
def file(tmp_path: Path) -> Callable[[bytes, str], str]:
    def write(body: bytes, name: str = "horses.ndjson") -> str:
        (tmp_path / name).write_bytes(body)
        return str(tmp_path / name)

    return write


def test_a_file_is_followed_to_its_end_and_read(run: Run, file: Callable[..., str]) -> None:
    started = run("jobs", "start", file(file_of(7)), "--answer", "short", "--follow", "--json")
    assert started.code == 0, started.err
    job = json.loads(started.out)
    assert (job["state"], job["answered"], job["refused"]) == ("done", 6, 1)
    told = run("jobs", "results", job["id"])
    lines = [json.loads(line) for line in told.out.splitlines()]
    assert [one["line"] for one in lines] == list(range(1, 8))
    rest = run("jobs", "results", job["id"], "--after", "5")
    assert told.out.endswith(rest.out)
    assert len(rest.out.splitlines()) == 2
    refused = run("jobs", "results", job["id"], "--only", "refused", "--write-as", "csv")
    assert len(refused.out.splitlines()) == 2


def test_a_csv_is_known_by_its_name(run: Run, file: Callable[..., str]) -> None:
    told = run("jobs", "start", file(CSV_EXAMPLE.encode(), "horses.csv"), "--follow")
    assert "2 of 2 horses answered" in told.out


def test_who_changes_size_is_told_at_the_end(run: Run, file: Callable[..., str]) -> None:
    told = run("jobs", "start", file(file_of(3)), "--compare-with", OLDER.id[:20], "--follow")
    assert "horses change" in told.out
    job = json.loads(run("jobs", "list", "--json").out)[0]
    assert (job["answer"], job["catalog_release"], job["compare_with"]) == ("changes", NEWER.id, OLDER.id)


def test_a_job_is_listed_shown_cancelled_and_removed(run: Run, file: Callable[..., str]) -> None:
    job = json.loads(run("jobs", "start", file(file_of(3)), "--json").out)
    assert job["state"] == "queued"
    assert job["id"] in run("jobs", "list").out
    assert "waiting" in run("jobs", "show", job["id"]).out
    assert "cancelled" in run("jobs", "cancel", job["id"]).out
    assert run("jobs", "show", job["id"], "--client", "mossgate").code == 1
    assert run("jobs", "remove", job["id"]).code == 0
    assert run("jobs", "show", job["id"]).code == 1
    deeds = [entry["deed"] for entry in json.loads(run("keys", "log", "--client", "local", "--json").out)]
    assert deeds == ["job-removed", "job-cancelled", "job-started"]


def test_a_file_of_no_use_is_refused(run: Run, file: Callable[..., str]) -> None:
    assert run("jobs", "start", file(b"horse,limb\n", "horses.csv")).code == 2
    assert json.loads(run("jobs", "list", "--json").out) == []
