"""Pages: all pages of a feed, one after the other, fetched only if they changed."""

import json
from dataclasses import dataclass
from typing import Any

import httpx

from hooflast_feed.mapping import next_page
from hooflast_feed.settings import FeedSettings
from hooflast_fetching import fetch


class FeedRefused(ValueError):
    """Why a feed is not taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """All pages, as they are kept: a list of them, each with its address, version and content."""

    pages: list[dict[str, Any]]

    def written(self) -> bytes:
        """The pages as bytes, for `read_feed`."""
        return json.dumps(self.pages, ensure_ascii=False, sort_keys=True).encode()

    def contents(self) -> list[object]:
        """What stands on each page."""
        return [page["content"] for page in self.pages]


def read_feed(written: bytes) -> Feed:
    """A feed as it was written."""
    return Feed(pages=json.loads(written))


def fetch_feed(settings: FeedSettings, *, before: Feed | None, transport: httpx.BaseTransport | None = None) -> Feed:
    """Every page; those that have not changed are taken from `before`. Raises FetchFailed, FeedRefused."""
    known = {page["url"]: page for page in before.pages} if before else {}
    pages: list[dict[str, Any]] = []
    url: str | None = settings.url
    while url is not None:
        if len(pages) == settings.most_pages:
            raise FeedRefused(f"it has more than {settings.most_pages} pages")
        if url in {page["url"] for page in pages}:
            raise FeedRefused(f"page {url} comes again")
        pages.append(_page(url, settings=settings, known=known.get(url), transport=transport))
        url = pages[-1]["next"]
    return Feed(pages=pages)


def _page(
    url: str, *, settings: FeedSettings, known: dict[str, Any] | None, transport: httpx.BaseTransport | None
) -> dict[str, Any]:
    known_as = known["version"] if known else ""
    fetched = fetch(url, settings=settings.fetching, known_as=known_as, transport=transport)
    if fetched is None:
        return known or {}
    try:
        content = json.loads(fetched.content)
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise FeedRefused(f"{url} is no JSON: {error}") from None
    following = next_page(content, settings=settings)
    after = fetched.next_url if following is None else str(httpx.URL(fetched.url).join(following))
    return {"url": url, "version": fetched.version, "content": content, "next": after}
