"""Page samples: a small world with boots for standing horses, and a form that is filled in and answered."""

from typing import Final
from urllib.parse import urlencode

import httpx
from tests.api.html_reading import Node, expect_good_manners, read_page
from tests.matching.worlds import BOOTS, release_of

from hooflast.catalog.library import Library

FORM: Final = "application/x-www-form-urlencoded"
WORLD: Final = Library(releases=(release_of(*BOOTS),))
HOOF: Final = {"LF.width": "124", "LF.length": "127"}


async def send(client: httpx.AsyncClient, fields: dict[str, str | list[str]]) -> httpx.Response:
    """The response to a form."""
    return await client.post("/match", content=urlencode(fields, doseq=True), headers={"Content-Type": FORM})


async def answered(client: httpx.AsyncClient, *, status: int = 200, **fields: str | list[str]) -> Node:
    """The page that answers a form; `__` in a name stands for its point."""
    answer = await send(client, {name.replace("__", "."): value for name, value in fields.items()})
    assert answer.status_code == status, answer.text
    expect_good_manners(answer.text)
    return read_page(answer.text)


def hoof_of(page: Node, limb: str) -> Node:
    return page.named(f"hoof-{limb.lower()}")


def said(page: Node) -> str:
    return page.one("main").text
