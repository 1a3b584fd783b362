"""Hooks on the command line: made, listed, tried, caught up, renewed and removed."""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest
from standardwebhooks import Webhook
from tests.cli.running import Run, running

from hooflast.store import new_id

URL = "https://tarn-and-tether.example/told"
SECRET = re.compile(r"whsec_[A-Za-z0-9+/]+=*")


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, sqlite_url: str) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "250")
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)

    return running(capfd)


@contextmanager
def a_receiver(status: int) -> Iterator[tuple[str, list[tuple[bytes, dict[str, str]]]]]:
    received: list[tuple[bytes, dict[str, str]]] = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            received.append((self.rfile.read(int(self.headers["content-length"])), dict(self.headers)))
            self.send_response(status)
            self.send_header("content-length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None: ...

    with HTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = Thread(target=server.serve_forever)
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}/told", received
        finally:
            server.shutdown()
            thread.join()


def added(run: Run, url: str = URL, *options: str) -> tuple[str, str]:
    """The id and the secret of a new hook."""
    done = run("hooks", "add", url, *options)
    assert done.code == 0, done.err
    hooks = json.loads(run("hooks", "list", "--json").out)["items"]
    return hooks[-1]["id"], SECRET.findall(done.out)[0]


def test_a_secret_is_shown_when_it_is_made_and_never_again(run: Run) -> None:
    hook, secret = added(run, URL, "--event", "catalog_release.published")
    for shown in (run("hooks", "list").out, run("hooks", "list", "--json").out):
        assert hook in shown
        assert URL in shown
        assert "catalog_release.published" in shown
        assert secret not in shown
    renewed = run("hooks", "rotate", hook).out
    assert SECRET.findall(renewed)[0] != secret


def test_without_a_hook_it_is_said_how_to_make_one(run: Run) -> None:
    assert "hooflast hooks add" in run("hooks", "list").out


def test_what_cannot_be_told_is_refused(run: Run) -> None:
    refused = run("hooks", "add", "ftp://harrowmere.example/")
    assert (refused.code, "/url" in refused.err) == (2, True)
    assert run("hooks", "add", URL, "--event", "horse.born").code == 2
    assert run("hooks", "add", "http://127.0.0.1/").code == 2


def test_a_test_is_sent_at_once_and_verifies(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOOFLAST_HOOKS_PRIVATE_ADDRESSES", "allow")
    with a_receiver(204) as (url, received):
        hook, secret = added(run, url)
        done = run("hooks", "test", hook)
    assert (done.code, "204" in done.out) == (0, True)
    ((body, headers),) = received
    assert Webhook(secret).verify(body, headers)["data"] == {"hook": hook}
    (delivery,) = json.loads(run("hooks", "deliveries", hook, "--json").out)
    assert (delivery["status"], delivery["attempts"]) == ("delivered", 1)


def test_a_test_that_does_not_arrive_says_why(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOOFLAST_HOOKS_PRIVATE_ADDRESSES", "allow")
    with a_receiver(503) as (url, _):
        hook, _ = added(run, url)
        answered = run("hooks", "test", hook)
    assert (answered.code, "503" in answered.out) == (1, True)
    monkeypatch.setenv("HOOFLAST_HOOKS_PRIVATE_ADDRESSES", "refuse")
    refused = run("hooks", "test", hook)
    assert (refused.code, "not public" in refused.out) == (1, True)
    listed = run("hooks", "deliveries", hook, "--status", "pending").out
    assert "503" in listed
    assert "not public" in listed


def test_one_delivery_or_all_since_a_moment_are_delivered_again(run: Run) -> None:
    hook, _ = added(run)
    assert "0 events" in run("hooks", "replay", hook, "--since", "2020-01-01T00:00:00Z").out
    assert run("hooks", "replay", hook, "--delivery", new_id()).code == 1
    for options in ((), ("--since", "2020-01-01T00:00:00Z", "--delivery", new_id())):
        assert run("hooks", "replay", hook, *options).code == 2
    assert run("hooks", "replay", hook, "--since", "yesterday").code == 2


def test_a_hook_that_is_removed_is_gone(run: Run) -> None:
    hook, _ = added(run)
    assert run("hooks", "remove", hook).code == 0
    for command in ("remove", "rotate", "deliveries", "test"):
        assert run("hooks", command, hook).code == 1


def test_every_client_has_its_own_hooks(run: Run) -> None:
    hook, _ = added(run)
    run("hooks", "add", URL, "--client", "mossgate")
    (theirs,) = json.loads(run("hooks", "list", "--client", "mossgate", "--json").out)["items"]
    assert theirs["id"] != hook
    assert run("hooks", "remove", theirs["id"]).code == 1


def test_nothing_was_to_be_delivered_yet(run: Run) -> None:
    hook, _ = added(run)
    assert run("hooks", "deliveries", hook).out.strip()
    assert json.loads(run("hooks", "deliveries", hook, "--json").out) == []
