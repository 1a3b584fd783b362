"""Languages: wherever something is told to a reader of another language, no English sentence stands in it."""

import re
from collections.abc import AsyncIterator
from typing import Any
from urllib.parse import urlencode

import httpx
import pytest
from tests.api.page_samples import FORM, HOOF, WORLD
from tests.api.samples import serving
from tests.texts.english import left_in_english

from hooflast.access.errors import LimitReached
from hooflast.api.pages.validation import validation_page
from hooflast.api.problems import diagnose, tell
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.validation import validate
from hooflast.errors import Fault, PluginFailed
from hooflast.texts import DEFAULT_LANGUAGE, languages, load_texts

pytestmark = pytest.mark.anyio

OTHERS = [language for language in languages() if language != DEFAULT_LANGUAGE]
HORSE: dict[str, Any] = {
    "horse": {"name": "Old Tom", "girth": 1900, "build": "konik"},
    "uses": ["hacking", "confined"],
    "needs": [{"need": "founder", "course": "chronic"}, {"need": "abscess"}],
    "pad": 6,
    "hooves": [
        {"limb": "LF", "width": 124, "length": 127, "states": ["long_toe", "flare"]},
        {"limb": "RF", "width": "12.9 cm", "length": "5 in"},
        {"limb": "LH", "width": 81, "length": 118},
    ],
}
SOUND: dict[str, Any] = {"uses": ["hacking"], "hooves": [{"limb": "LF", "width": 124, "length": 127}]}
WRONG: dict[str, Any] = {
    "horse": {"name": 3, "animal_typ": "pony"},
    "uses": ["flying"],
    "measured_on": "2999-01-01",
    "hooves": [{"limb": "XX", "width": "1,240", "length": -3}, {"limb": "LF"}],
}
FILLED = {**HOOF, "LF.states": "long_toe", "need.founder": "chronic", "pad": "6"}
MISFILLED = {"LF.width": "ell", "pad": "x", "measured_on": "yesterday", "horse.colour": "bay"}


@pytest.fixture
async def client(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    async with serving(sqlite_url, library=WORLD) as opened:
        yield opened


class Reader:
    """Somebody who reads one language, and all that was told to them."""

    def __init__(self, client: httpx.AsyncClient, *, language: str) -> None:
        self.client = client
        self.headers = {"Accept-Language": f"{language}, en;q=0.5"}
        self.told: dict[str, str] = {}

    async def get(self, path: str, *, status: int = 200) -> None:
        self._hear(path, await self.client.get(path, headers=self.headers), status=status)

    async def post(self, path: str, document: object, *, status: int = 200) -> Any:
        answer = await self.client.post(path, json=document, headers=self.headers)
        self._hear(f"{path} {status}", answer, status=status)
        return answer.json()

    async def fill_in(self, fields: dict[str, str], *, status: int) -> None:
        headers = {**self.headers, "Content-Type": FORM}
        answer = await self.client.post("/match", content=urlencode(fields), headers=headers)
        self._hear(f"/match {status}", answer, status=status)

    def _hear(self, where: str, answer: httpx.Response, *, status: int) -> None:
        assert answer.status_code == status, f"{where}: {answer.text[:500]}"
        self.told[where] = re.sub(r'<article[^>]*lang="en".*?</article>', "", answer.text, flags=re.DOTALL)


async def ask_everything(reader: Reader) -> None:
    """Every page, an answer of most kinds with its pictures, and what can go wrong."""
    for page in ("/", "/match", "/troubleshooting", "/docs/start", "/problems", "/problems/not-found"):
        await reader.get(page)
    await reader.fill_in(FILLED, status=200)
    await reader.fill_in(MISFILLED, status=422)
    match = await reader.post("/v1/matches", HORSE, status=201)
    await reader.get(f"/v1/matches/{match['id']}")
    sound = await reader.post("/v1/matches", SOUND, status=201)
    for picture in ("pictures/hooves.svg", "pictures/LF.svg", "pictures/LF/sizes.svg"):
        await reader.get(f"/v1/matches/{sound['id']}/{picture}")
    await reader.post("/v1/pads", {**SOUND, "pad": 6})
    await reader.post("/v1/trim-cycles", {**SOUND, "cycle_weeks": 8})
    await reader.post("/v1/order-plans", SOUND)
    await reader.get("/v1/troubleshooting")
    await reader.post("/v1/matches", WRONG, status=422)
    await reader.post("/graphql", {"query": '{ match(id: "none") { id } }'}, status=294)
    for path in ("v1/boots/none", "v1/assortments/none", "v1/match-jobs/none", "v1/hooks/none", "docs/none", "none"):
        await reader.get(f"/{path}", status=404)
    await reader.get("/v1/boots?limit=x&limit=3", status=400)


@pytest.mark.parametrize("language", OTHERS)
async def test_nothing_is_told_in_english_to_a_reader_of_another_language(
    client: httpx.AsyncClient, language: str
) -> None:
    reader = Reader(client, language=language)
    await ask_everything(reader)
    left = {where: found for where, told in reader.told.items() if (found := left_in_english(told, language=language))}
    assert left == {}
    assert all(len(told) > 100 for told in reader.told.values())


@pytest.mark.parametrize("language", OTHERS)
def test_neither_is_a_report_on_a_catalog_nor_a_limit_that_is_reached(anyio_backend: str, language: str) -> None:
    texts = load_texts(language)
    fault = Fault(
        path=("chart.csv", "C7"), code="catalog-range-inverted", received=1, facts={"low_mm": 105.0, "high_mm": 95.0}
    )
    reports = (
        PluginReport(plugin="chart", version="1", faults=(fault,)),
        PluginReport(plugin="hedge", version="1", failure=PluginFailed(plugin="hedge", reason="…")),
    )
    (release,) = WORLD.releases
    page = validation_page(validate(release, plugins=reports), texts=texts)
    limit = tell(diagnose(LimitReached(limit="minute", most=60, seconds=7)), texts=texts, base="", request_id="x")
    assert left_in_english(page + limit.decode(), language=language) == []


def test_english_would_be_found(anyio_backend: str) -> None:
    texts = load_texts(DEFAULT_LANGUAGE)
    told = [
        texts.say("page.form.about"),
        texts.say("problem.limit-reached.detail", {"most": 1, "limit": "x", "seconds": 2}),
    ]
    assert all(left_in_english(one, language=language) for one in told for language in OTHERS)
