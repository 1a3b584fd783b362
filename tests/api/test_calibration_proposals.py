"""Calibration proposals over HTTP."""

import asyncio
from threading import Event
from typing import Any

import httpx
import pytest
from tests.api.processes import PATIENCE_SECONDS

from hooflast.api import works
from hooflast.exchange.outcome_form import MOST_OUTCOMES
from hooflast.matching.calibrating import propose_calibration
from hooflast.matching.calibration import CalibrationProposal
from hooflast.settings import Settings

pytestmark = pytest.mark.anyio

ROW: dict[str, Any] = {
    "limb": "LF",
    "width": 114,
    "length": 115,
    "method": "calliper",
    "observer": "professional",
    "channel": "clinic",
    "boot": "vellory-alder",
    "size": "lark",
    "outcome": "kept",
}


def asked(*rows: dict[str, Any]) -> dict[str, Any]:
    return {"outcomes": list(rows)}


async def test_outcomes_are_answered_with_what_they_teach_and_not_kept(client: httpx.AsyncClient) -> None:
    small = [{**ROW, "width": 116 + at % 2, "length": 116, "outcome": "too_small"} for at in range(20)]
    kept = [{**ROW, "width": 112 + at % 2, "length": 113} for at in range(20)]
    answered = await client.post("/v1/calibration-proposals", json=asked(*small, *kept, {**ROW, "outcome": "broke"}))
    assert answered.status_code == 200
    assert answered.headers["cache-control"] == "no-store"
    assert answered.headers["content-language"] == "en"
    document = answered.json()
    (boot,) = document["boots"]
    assert (boot["boot"], boot["proposed"], boot["evidence"]["bar"]) == ("vellory-alder", True, "over")
    assert boot["width"]["value_mm"] < 0.0
    assert boot["width"]["low_mm"] <= boot["width"]["value_mm"] <= boot["width"]["high_mm"]
    assert [size["size"] for size in boot["sizes"]][2] == "lark"
    assert document["set_aside"] == 1
    assert {one["outcome"]: one["count"] for one in document["outcomes"]} == {"broke": 1, "kept": 20, "too_small": 20}
    assert sum(one["outcomes"] for one in document["reliability"]["bins"]) == 40
    assert document["evidence"]["outcomes"] == 40
    assert document["readings"][0]["channel"] == "clinic"
    assert {one["side"] for one in document["keeping"]} == {"fine", "loose", "tight"}
    assert document["cautions"][0]["code"] == "calibration-not-switched-on"
    assert document["versions"]["calibration"] == "none"


async def test_the_same_outcomes_in_another_order_make_the_same_proposal(client: httpx.AsyncClient) -> None:
    rows = [{**ROW, "width": 112 + at, "outcome": "too_small" if at > 3 else "kept"} for at in range(7)]
    one, other = [
        (await client.post("/v1/calibration-proposals", json=asked(*each))).content for each in (rows, rows[::-1])
    ]
    assert one == other


async def test_outcomes_that_say_nothing_of_fit_are_answered_with_nothing(client: httpx.AsyncClient) -> None:
    answered = await client.post("/v1/calibration-proposals", json=asked({**ROW, "outcome": "other"}))
    assert answered.status_code == 200
    document = answered.json()
    assert document["boots"] == document["readings"] == []
    assert document["evidence"] is document["reliability"] is None


async def test_every_unknown_boot_model_and_size_is_a_fault_of_its_row(client: httpx.AsyncClient) -> None:
    rows = (ROW, {**ROW, "boot": "nowhere"}, {**ROW, "size": "raven"})
    refused = await client.post("/v1/calibration-proposals", json=asked(*rows))
    assert refused.status_code == 422
    errors = {(error["pointer"], error["code"]) for error in refused.json()["errors"]}
    assert errors == {("/outcomes/1/boot", "boot-unknown"), ("/outcomes/2/size", "size-unknown")}


async def test_as_many_outcomes_as_are_taken_fit_into_a_request(client: httpx.AsyncClient) -> None:
    """With an order on each; and they are refused for what is wrong with them, not for their size."""
    rows = [{**ROW, "order": f"order-{at}", "boot": "nowhere"} for at in range(MOST_OUTCOMES)]
    body = httpx.Request("POST", "http://x", json=asked(*rows)).content
    assert len(body) > Settings().max_body_bytes
    refused = await client.post("/v1/calibration-proposals", json=asked(*rows))
    assert refused.status_code == 422
    assert {error["code"] for error in refused.json()["errors"]} == {"boot-unknown"}


async def test_what_is_longer_still_is_not_read(client: httpx.AsyncClient) -> None:
    refused = await client.post("/v1/calibration-proposals", json=asked({**ROW, "order": "x" * 1_100_000}))
    assert refused.status_code == 413


async def test_other_requests_are_answered_meanwhile(
    client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, may_end = Event(), Event()

    def slowly(*given: Any, **more: Any) -> CalibrationProposal:
        begun.set()
        assert may_end.wait(PATIENCE_SECONDS), "nothing else is answered"
        return propose_calibration(*given, **more)

    monkeypatch.setattr(works, "propose_calibration", slowly)
    rows = [{**ROW, "width": 105 + at % 20, "outcome": "too_small" if at % 3 else "kept"} for at in range(200)]
    long = asyncio.create_task(client.post("/v1/calibration-proposals", json=asked(*rows)))
    assert await asyncio.to_thread(begun.wait, PATIENCE_SECONDS)
    live = await client.get("/health/live")
    assert live.status_code == 200
    assert not long.done()
    may_end.set()
    assert (await long).status_code == 200
