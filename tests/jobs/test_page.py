"""The page of hooks shows what is sent, when it is sent again, and how to verify it."""

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
import pytest
from standardwebhooks import WebhookVerificationError
from tests.project.checkout import ROOT

from hooflast.exchange.event_document import EVENT_DOCUMENTS, MatchJobEventDocument, ReleaseEventDocument
from hooflast.jobs.retrying import WAITS
from hooflast.jobs.signing import signed_headers, written_secret
from hooflast.store.hooks import MOST_HOOKS
from hooflast.store.match_job_ends import KEPT_FOR

PAGE = (ROOT / "service" / "hooflast" / "pages" / "hooks.md").read_text("utf-8")
SECRET = b"oats" * 8


def shown(language: str) -> str:
    return re.search(rf"```{language}\n(.*?)```", PAGE, re.DOTALL).group(1)


def test_the_messages_that_are_shown_are_ones_that_are_sent() -> None:
    of_a_release, of_a_job = re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL)
    for written, document in ((of_a_release, ReleaseEventDocument), (of_a_job, MatchJobEventDocument)):
        told = msgspec.json.decode(written, type=document)
        assert json.loads(msgspec.json.encode(told)) == json.loads(written)


def test_ends_of_jobs_can_be_told_again_for_as_long_as_the_page_says() -> None:
    assert f"for {KEPT_FOR.days} days, also of jobs that were erased since" in PAGE


def test_every_kind_of_event_stands_on_the_page() -> None:
    assert re.findall(r"^\| `([a-z_.]+)` \|", PAGE, re.MULTILINE)[: len(EVENT_DOCUMENTS)] == list(EVENT_DOCUMENTS)


def test_the_waits_on_the_page_are_those_that_are_waited() -> None:
    row = re.search(r"^\| after \| at once \| (.*) \|$", PAGE, re.MULTILINE).group(1)
    units = {"s": "seconds", "min": "minutes", "h": "hours"}
    told = [timedelta(**{units[unit]: int(count)}) for count, unit in (wait.split() for wait in row.split(" | "))]
    assert tuple(told) == WAITS


def test_as_many_hooks_as_the_page_says_can_be_had() -> None:
    assert f"up to {MOST_HOOKS} hooks" in PAGE


def test_the_python_that_is_shown_verifies_what_is_sent(capsys: pytest.CaptureFixture[str]) -> None:
    names: dict[str, Any] = {}
    exec(shown("python").replace("whsec_...", written_secret(SECRET)), names)
    body = shown("json").encode()
    headers = signed_headers(body, message_id="evt_1", at=datetime.now(UTC), secrets=[SECRET])
    names["told"](body, headers)
    assert "catalog_release.published" in capsys.readouterr().out
    with pytest.raises(WebhookVerificationError):
        names["told"](body + b" ", headers)
