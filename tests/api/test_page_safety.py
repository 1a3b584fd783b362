"""Safety on the page: what a painful foot, a foal and a standing horse are told, and what they are never shown."""

import re
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
from tests.api.page_samples import WORLD, answered, hoof_of
from tests.api.samples import serving
from tests.matching.worlds import BOOTS

from hooflast.fit.boot import Course, IntendedUse, Need
from hooflast.matching.choosing import STANDING_USES, standing_only
from hooflast.matching.needs import is_painful
from hooflast.matching.question import NamedNeed
from hooflast.texts import load_texts

pytestmark = pytest.mark.anyio

TEXTS = load_texts("en")
PAINFUL = [(need, course) for need in Need for course in Course if is_painful([NamedNeed(need=need, course=course)])]


@pytest.fixture
async def client(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    async with serving(sqlite_url, library=WORLD) as opened:
        yield opened


class TestAPainfulFoot:
    """Stop, first of all; no trying, no neighbours, no turning."""

    @pytest.mark.parametrize(("need", "course"), PAINFUL)
    @pytest.mark.parametrize("uses", [[], ["confined"], ["hacking"]], ids=["any", "confined", "ridden"])
    async def test_a_painful_foot_says_stop_and_offers_no_trying(
        self, client: httpx.AsyncClient, need: Need, course: Course, uses: list[str]
    ) -> None:
        fields: dict[str, Any] = {f"need__{need}": course.value, "uses": uses, "LF__states": ["long_toe"]}
        page = await answered(client, LF__width="124", LF__length="127", RH__width="120", RH__length="125", **fields)
        main = page.one("main")
        content = [node for node in main.nodes if node.tag != "h1"]
        assert "stop" in content[0].classes
        stop = content[0]
        assert "Stop" in stop.one("h2").text.title()
        assert [node.tag for node in stop.one("h2").nodes] == ["svg"]
        assert TEXTS.say("caution.painful-foot") in stop.text
        assert TEXTS.say("caution.veterinarian-first") in stop.text
        answer = " ".join(node.text for node in content if "try" not in node.classes)
        for key in ("page.try-order", "page.beside", "page.turns", "page.watch-for", "page.alternatives"):
            assert TEXTS.say(key) not in answer
        assert not main.all("ol", kind="order")
        assert not main.all("table")
        assert not [link for link in main.all("a") if "/troubleshooting" in link.attributes["href"]]
        assert not [
            one for one in ("turned", "Try both", "next smaller", "next larger") if re.search(rf"\b{one}\b", answer)
        ]
        offered = {node.text.split()[-1] for node in main.all("p", kind="size") + main.all("span", kind="code")}
        named = set(re.findall(r"\w+", answer)) & {size.code for boot in BOOTS for size in boot.sizes}
        assert named == offered

    async def test_where_nothing_is_painful_there_is_no_stop_box(self, client: httpx.AsyncClient) -> None:
        for fields in ({}, {"need__thin_sole": "chronic"}, {"uses": "road"}):
            page = await answered(client, LF__width="124", LF__length="127", **fields)
            assert not page.all(kind="stop")
            assert page.all("ol", kind="order")

    async def test_a_foal_says_stop_and_is_offered_nothing(self, client: httpx.AsyncClient) -> None:
        page = await answered(client, LF__width="124", LF__length="127", horse__is_foal="true")
        assert TEXTS.say("caution.foal") in page.one(kind="stop").text
        assert not page.all(kind="pick")
        assert not page.all("details", kind="other")
        assert TEXTS.say("page.wearing") not in page.one("main").text
        assert TEXTS.say("caution.first-wear") not in page.one("main").text


class TestABootForAStandingHorse:
    """Never for riding."""

    @pytest.mark.parametrize("use", [use for use in IntendedUse if use not in STANDING_USES])
    async def test_a_boot_for_a_standing_horse_is_never_offered_for_another_use(
        self, client: httpx.AsyncClient, use: IntendedUse
    ) -> None:
        standing = [boot.name for boot in BOOTS if standing_only(boot)]
        assert standing
        page = await answered(client, LF__width="124", LF__length="127", uses=[use.value])
        sections = " ".join(section.text for section in page.all("section", kind="hoof"))
        assert not [name for name in standing if name in sections]

    async def test_a_boot_for_a_standing_horse_says_that_it_is_not_for_riding(self, client: httpx.AsyncClient) -> None:
        page = await answered(client, LF__width="124", LF__length="127", uses=["confined"])
        assert TEXTS.say("caution.standing-only") in hoof_of(page, "LF").text
