"""Server: a real process answers, keeps its bounds, and stops without breaking off what it is doing."""

import json
import signal
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.api.processes import Served, served, whole_answer
from tests.api.samples import HORSE

from hooflast.settings import LogFormat, Settings

BODY = json.dumps(HORSE).encode()
HEAD = (
    b"POST /v1/matches HTTP/1.1\r\nHost: hooflast.test\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n"
    % len(BODY)
)
READY = b"GET /health/ready HTTP/1.1\r\nHost: hooflast.test\r\n\r\n"
of_one_service = pytest.mark.xdist_group("one-service")


def settings_for(folder: Path, **changes: object) -> Settings:
    """Settings for an empty database in `folder` and a free port."""
    url = f"sqlite+aiosqlite:///{folder / 'hooflast.sqlite3'}"
    return Settings(**({"database_url": url, "port": 0, "log_format": LogFormat.JSON} | changes))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def bounded_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("service")
    patient = {"request_seconds": 600, "keep_alive_seconds": 600}
    settings = settings_for(folder, max_header_bytes=2048, max_body_bytes=4096, **patient)
    with served(settings, log=folder / "log") as service:
        yield service


@pytest.fixture(scope="module")
def hasty_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """It waits a second for a request."""
    folder = tmp_path_factory.mktemp("hasty")
    with served(settings_for(folder, request_seconds=1), log=folder / "log") as service:
        yield service


def begin_slowly(slow: socket.socket) -> None:
    """Send half a request, and come back once the service says that it waits for the other half."""
    slow.sendall(HEAD.replace(b"\r\n\r\n", b"\r\nExpect: 100-continue\r\n\r\n") + BODY[:10])
    assert whole_answer(slow)[0] == 100


def answer_while_stopping(service: Served) -> tuple[int, dict[str, str], Any]:
    """What `/health/ready` says once the service has noticed that it is to stop."""
    while True:
        try:
            with service.connect() as asking:
                asking.sendall(READY)
                status, headers, body = whole_answer(asking)
        except ConnectionError:
            continue  # met a worker that had nothing left to do
        if status != 200:
            return status, headers, json.loads(body)


@pytest.mark.parametrize("workers", [1, pytest.param(2, marks=pytest.mark.full)])
def test_a_stop_finishes_the_request_it_meets_and_says_at_once_that_it_is_not_ready(
    tmp_path: Path, workers: int
) -> None:
    with served(settings_for(tmp_path, workers=workers), log=tmp_path / "log") as service:
        with service.connect() as slow:
            begin_slowly(slow)
            service.stop()
            status, headers, told = answer_while_stopping(service)
            assert (status, headers["content-type"]) == (503, "application/problem+json")
            assert [error["code"] for error in told["errors"]] == ["stopping"]
            assert service.process.poll() is None
            slow.sendall(BODY[10:])
            assert whole_answer(slow)[0] == 201
        assert service.ended() == 0
        names = [event["event"] for event in service.events()]
        assert "stopping" in names
        assert "requests cut off" not in names


@pytest.mark.full
def test_a_stop_waits_no_longer_than_it_is_told_to(tmp_path: Path) -> None:
    settings = settings_for(tmp_path, shutdown_seconds=1)
    with served(settings, log=tmp_path / "log") as service, service.connect() as slow:
        begin_slowly(slow)
        service.stop()
        assert service.ended() == 0
        assert "requests cut off" in [event["event"] for event in service.events()]


@pytest.mark.full
def test_a_second_signal_stops_at_once(tmp_path: Path) -> None:
    settings = settings_for(tmp_path, shutdown_seconds=600)
    with served(settings, log=tmp_path / "log") as service, service.connect() as slow:
        begin_slowly(slow)
        service.stop()
        answer_while_stopping(service)
        service.process.send_signal(signal.SIGINT)
        assert service.ended() == 0


WRONG = {
    "no HTTP": (b"rubbish\r\n\r\n", 400, "request-refused"),
    "no host": (b"GET / HTTP/1.1\r\nHost: a b\r\n\r\n", 400, "request-refused"),
    "long header": (b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: " + b"x" * 4096 + b"\r\n\r\n", 431, "head-too-large"),
    "many headers": (b"GET / HTTP/1.1\r\nHost: x\r\n" + b"A: b\r\n" * 2048 + b"\r\n", 431, "head-too-large"),
    "long address": (b"GET /" + b"x" * 100_000, 431, "head-too-large"),
    "long body announced": (HEAD.replace(b"%d" % len(BODY), b"99999999999"), 413, "body-too-large"),
    "long body in chunks": (
        HEAD.replace(b"Content-Length: %d" % len(BODY), b"Transfer-Encoding: chunked") + b"1388\r\n" + b" " * 5000,
        413,
        "body-too-large",
    ),
}


SLOW = {
    "half a head": b"GET /v1/boots HTTP/1.1\r\nHost: x\r\n",
    "silence": b"",
    "half a body": HEAD + BODY[:10],
}


@of_one_service
@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_on_the_wire_is_told_as_a_problem(bounded_service: Served, name: str) -> None:
    sent, expected, code = WRONG[name]
    expect_problem(bounded_service, sent=sent, status=expected, code=code)


@of_one_service
@pytest.mark.parametrize("name", SLOW)
def test_whoever_sends_too_slowly_is_told_so(hasty_service: Served, name: str) -> None:
    expect_problem(hasty_service, sent=SLOW[name], status=408, code="request-too-slow")


def expect_problem(service: Served, *, sent: bytes, status: int, code: str) -> None:
    with service.connect() as connection:
        connection.sendall(sent)
        answered, headers, body = whole_answer(connection)
    told = json.loads(body)
    assert (answered, told["type"]) == (status, f"/problems/{code}")
    assert headers["content-type"] == "application/problem+json"
    assert headers["x-content-type-options"] == "nosniff"
    assert told["instance"] == f"urn:uuid:{headers['x-request-id']}"
    assert told["title"]
    assert told["detail"]


@of_one_service
def test_one_connection_carries_one_request_after_another(bounded_service: Served) -> None:
    with bounded_service.connect() as connection:
        for _ in range(3):
            connection.sendall(HEAD + BODY)
            assert whole_answer(connection)[0] == 201


@of_one_service
def test_a_server_does_not_name_itself(bounded_service: Served) -> None:
    with bounded_service.connect() as connection:
        connection.sendall(READY)
        _, headers, _ = whole_answer(connection)
    assert "server" not in headers
    assert "date" in headers


@of_one_service
def test_an_access_line_has_named_fields_and_not_what_was_asked(bounded_service: Served) -> None:
    request_id = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11"
    with bounded_service.connect() as connection:
        asked = f"GET /v1/boots?maker=%C3%28 HTTP/1.1\r\nHost: x\r\nX-Request-ID: {request_id}\r\n\r\n"
        connection.sendall(asked.encode())
        assert whole_answer(connection)[0] == 400
    line = bounded_service.event_of(request_id)
    assert (line["event"], line["method"], line["route"]) == ("request", "GET", "/v1/boots")
    assert (line["status"], line["level"]) == (400, "info")
    assert {"timestamp", "duration_ms"} <= set(line)
    assert "maker" not in json.dumps(line)
