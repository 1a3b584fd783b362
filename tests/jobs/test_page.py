"""The page of hooks shows what is sent, when it is sent again, and how to verify it."""

import json
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
import pytest
from standardwebhooks import WebhookVerificationError
from tests.project.checkout import ROOT

from hooflast.exchange.event_document import EVENT_DOCUMENTS, ReleaseEventDocument
from hooflast.jobs.retrying import WAITS
from hooflast.jobs.signing import signed_headers, written_secret
from hooflast.store.hooks import MOST_HOOKS

PAGE = (ROOT / "service" / "hooflast" / "pages" / "hooks.md").read_text("utf-8")
SECRET = b"oats" * 8


def shown(language: str) -> str:
    return re.search(rf"```{language}\n(.*?)```", PAGE, re.DOTALL).group(1)


def test_the_message_that_is_shown_is_one_that_is_sent() -> None:
    told = msgspec.json.decode(shown("json"), type=ReleaseEventDocument)
    assert json.loads(msgspec.json.encode(told)) == json.loads(shown("json"))


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
