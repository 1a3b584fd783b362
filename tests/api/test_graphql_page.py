"""The page about GraphQL: what it shows is answered as it stands there."""

import json
import re
from collections.abc import AsyncIterator
from hashlib import sha256
from pathlib import Path

import httpx
import pytest
from tests.api.graphql_asking import ask, errors_of
from tests.api.samples import serving
from tests.demo import offered

from hooflast.api.graphql.fields import COMPARISON, KEPT_ANSWER, LOOK_UP, MANY_HORSES, ONE_HORSE, WHOLE_ASSORTMENT

pytestmark = pytest.mark.anyio
PAGE = (Path(__file__).resolve().parents[2] / "service" / "hooflast" / "pages" / "graphql.md").read_text("utf-8")
DOCUMENTS = re.findall(r"```graphql\n(.*?)```", PAGE, re.DOTALL)
VARIABLES, ERROR, *_ = [json.loads(block) for block in re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL)]
SENT = re.findall(r"-d '(\{.*\})'", PAGE)


@pytest.fixture
async def demo(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service with the demo catalog."""
    async with serving(sqlite_url, library=offered().library) as client:
        yield client


async def test_every_document_is_answered_without_an_error(demo: httpx.AsyncClient) -> None:
    assert len(DOCUMENTS) >= 6
    known = dict(VARIABLES)
    for document in DOCUMENTS:
        named = {name: known[name] for name in re.findall(r"\$(\w+):", document) if name in known}
        answer = await ask(demo, document, variables=named)
        assert answer.status_code == 200, answer.text
        data = answer.json()["data"]
        assert None not in data.values()
        assert None not in data.get("nodes", [])
        if "createAssortment" in data:
            known["assortment"] = data["createAssortment"]["id"]


async def test_every_request_is_answered(demo: httpx.AsyncClient) -> None:
    assert len(SENT) == 3
    for body in SENT:
        answer = await ask(demo, **json.loads(body))
        assert answer.status_code == 200, answer.text


async def test_the_error_is_told_as_it_is_shown(demo: httpx.AsyncClient) -> None:
    spoiled = {"input": {**VARIABLES["input"], "hooves": [{"limb": "LF", "width": 9999, "length": 128}]}}
    (error,) = errors_of(await ask(demo, DOCUMENTS[0], variables=spoiled))
    assert (error["message"], error["path"]) == (ERROR["message"], ERROR["path"])
    (fault,), (shown,) = error["extensions"]["errors"], ERROR["extensions"]["errors"]
    assert {name: fault[name] for name in shown} == shown
    assert error["extensions"]["code"] == ERROR["extensions"]["code"]


def test_the_weights_are_those_of_the_fields() -> None:
    for weight in (LOOK_UP, KEPT_ANSWER, COMPARISON, WHOLE_ASSORTMENT, ONE_HORSE, MANY_HORSES):
        assert re.search(rf" {weight:,}[,.]", PAGE)


def test_the_id_is_that_of_the_document() -> None:
    body = json.loads(SENT[-1])
    assert body["documentId"] == f"sha256:{sha256(body['query'].encode()).hexdigest()}"
