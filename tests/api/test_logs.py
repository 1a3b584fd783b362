"""Logs: events with named fields, in a form for people or for machines, and nothing private in them."""

import json
import logging
from collections.abc import Iterator

import pytest
import structlog

from hooflast.api.logs import configure_logs
from hooflast.settings import LogFormat, LogLevel


@pytest.fixture(autouse=True)
def events() -> Iterator[None]:
    """Here events are written for real, so they are not captured; what was configured is put back."""
    root = logging.getLogger()
    before = (root.handlers[:], root.level, structlog.get_config())
    yield
    root.handlers[:], level, config = before
    root.setLevel(level)
    structlog.configure(**config)


def fail_with_a_secret() -> None:
    secret = "the-secret-key"
    raise RuntimeError(f"{len(secret)} characters")


@pytest.mark.parametrize("form", LogFormat)
def test_a_traceback_shows_where_and_never_the_values_that_were_there(
    form: LogFormat, capsys: pytest.CaptureFixture[str]
) -> None:
    configure_logs(form=form, level=LogLevel.INFO)
    try:
        fail_with_a_secret()
    except RuntimeError as error:
        structlog.stdlib.get_logger("hooflast.test").error("unexpected error", exc_info=error)
    written = capsys.readouterr().err
    assert "fail_with_a_secret" in written
    assert "14 characters" in written
    assert "the-secret-key" not in written


def test_json_lines_are_one_object_each_whoever_logs(capsys: pytest.CaptureFixture[str]) -> None:
    configure_logs(form=LogFormat.JSON, level=LogLevel.INFO)
    structlog.stdlib.get_logger("hooflast.test").info("request", status=200, note="two\nlines")
    logging.getLogger("uvicorn.error").warning("odd %s", "thing")
    ours, theirs = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert (ours["event"], ours["status"], ours["level"], ours["logger"]) == ("request", 200, "info", "hooflast.test")
    assert (theirs["event"], theirs["level"], theirs["logger"]) == ("odd thing", "warning", "uvicorn.error")
    assert ours["timestamp"].endswith("Z")


@pytest.mark.parametrize("level", [LogLevel.INFO, LogLevel.DEBUG])
def test_addresses_of_hooks_are_not_written(level: LogLevel, capsys: pytest.CaptureFixture[str]) -> None:
    configure_logs(form=LogFormat.JSON, level=level)
    logging.getLogger("httpx").info("HTTP Request: POST https://tarn-and-tether.example/told?token=oats")
    logging.getLogger("httpcore.http11").debug("send_request_headers.started request=<Request [b'POST']>")
    assert capsys.readouterr().err == ""


def test_what_is_less_severe_than_the_level_is_not_written(capsys: pytest.CaptureFixture[str]) -> None:
    configure_logs(form=LogFormat.JSON, level=LogLevel.WARNING)
    structlog.stdlib.get_logger("hooflast.test").info("request")
    logging.getLogger("alembic").info("step")
    assert capsys.readouterr().err == ""


def test_libraries_are_heard_from_warnings_on(capsys: pytest.CaptureFixture[str]) -> None:
    configure_logs(form=LogFormat.JSON, level=LogLevel.DEBUG)
    logging.getLogger("sqlalchemy.engine").info("select")
    structlog.stdlib.get_logger("hooflast.test").debug("seen")
    assert [json.loads(line)["event"] for line in capsys.readouterr().err.splitlines()] == ["seen"]
