"""The documentation as pages: each is there, leads where it says, and can be found from every other."""

from collections.abc import AsyncIterator

import httpx
import pytest
from tests.api.html_reading import read_page
from tests.api.page_samples import WORLD
from tests.api.samples import serving
from tests.project.checkout import PAGES

from hooflast.texts import languages

pytestmark = pytest.mark.anyio
NAMES = sorted(page.stem for page in PAGES)


@pytest.fixture
async def client(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    async with serving(sqlite_url, library=WORLD) as opened:
        yield opened


async def test_every_page_is_there_and_its_links_lead_somewhere(client: httpx.AsyncClient) -> None:
    pages = {f"/docs/{name}": (await client.get(f"/docs/{name}")).text for name in NAMES}
    read = {address: read_page(text) for address, text in pages.items()}
    found = set(pages)
    for address, page in read.items():
        ids = [node.attributes["id"] for node in page.walk() if "id" in node.attributes]
        assert len(set(ids)) == len(ids), address
        for link in page.all("a"):
            target = httpx.URL(f"http://hooflast.test{address}").join(link.attributes["href"])
            if target.host != "hooflast.test":
                continue
            if target.path not in found:
                assert (await client.get(target.path)).status_code == 200, (address, target)
                found.add(target.path)
            elif target.fragment:
                assert read[target.path].named(target.fragment), (address, target)


async def test_every_page_leads_to_every_other_and_what_is_new_comes_last(client: httpx.AsyncClient) -> None:
    page = read_page((await client.get("/docs/operate")).text)
    links = [link.attributes["href"] for link in page.one("main").one("ul", kind="tabs").all("a")]
    assert sorted(links) == [f"/docs/{name}" for name in NAMES]
    assert (links[0], links[-1]) == ("/docs/start", "/docs/changelog")


async def test_a_page_lists_its_parts_in_their_order(client: httpx.AsyncClient) -> None:
    for name, tag in (("operate", "h2"), ("changelog", "h3")):
        page = read_page((await client.get(f"/docs/{name}")).text)
        listed = [(link.text, link.attributes["href"]) for link in page.one("nav", kind="parts").all("a")]
        assert listed == [(part.text, f"#{part.attributes['id']}") for part in page.all(tag)]
        assert len(listed) > 2


@pytest.mark.parametrize("language", languages())
async def test_what_is_new_and_what_a_refusal_means_are_a_step_away(client: httpx.AsyncClient, language: str) -> None:
    page = read_page((await client.get("/match", headers={"accept-language": language})).text)
    links = [link.attributes["href"] for link in page.one("footer").all("a")]
    assert links == ["/docs/changelog", "/problems"]
