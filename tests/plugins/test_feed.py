"""Feed: a JSON feed's pages mapped by expressions, fetched only if they changed."""

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import httpx
import pytest
from pydantic import ValidationError

from hooflast.catalog.plugin import Fetched, Source
from hooflast.catalog.reading import read_files
from hooflast_feed.mapping import MappingFailed, catalog_of
from hooflast_feed.pages import Feed, FeedRefused, fetch_feed, read_feed
from hooflast_feed.plugin import plugin
from hooflast_feed.settings import FeedSettings

ITEM = {
    "kind": "boot",
    "slug": "rill",
    "title": "Rill",
    "closing": "hook",
    "uses": ["hacking", "road"],
    "variants": [
        {"name": "wren", "hoof": {"width": {"min": 118, "max": 124}, "length": {"min": 120, "max": 126}}},
        {"name": "rook", "hoof": {"width": {"min": 125, "max": 131}}, "ean": None},
    ],
}
SETTINGS: dict[str, Any] = {
    "url": "https://quendle.example/boots.json",
    "makers": [{"id": "quendle", "name": "Quendle"}],
    "boots": "items[?kind == 'boot']",
    "boot": {
        "id": "join('-', ['quendle', slug])",
        "maker": "'quendle'",
        "name": "title",
        "closure": "closing",
        "shape": "'round'",
        "limbs": "'all'",
        "animal_types": "['horse']",
        "intended_uses": "uses",
        "sold_as": "'single'",
        "chart_unit": "'mm'",
        "chart_step": "`1`",
    },
    "sizes": "variants",
    "size": {
        "code": "name",
        "width": "[hoof.width.min, hoof.width.max]",
        "length": "[hoof.length.min, hoof.length.max]",
        "gtin": "ean",
    },
    "words": {"closure": {"hook": "strap"}, "animal_types": {}},
}


def settings(**changes: object) -> FeedSettings:
    named = {**SETTINGS, **changes}
    named["boot"] = {**named["boot"], "animal_types": "['horse']"}
    return FeedSettings.model_validate(named)


def serving(
    pages: dict[str, object], asked: list[httpx.Request] | None = None
) -> Callable[[httpx.Request], httpx.Response]:
    def answer(request: httpx.Request) -> httpx.Response:
        if asked is not None:
            asked.append(request)
        body = json.dumps(pages[request.url.path])
        tag = f'"{hash(body)}"'
        if request.headers.get("if-none-match") == tag:
            return httpx.Response(304)
        return httpx.Response(200, headers={"ETag": tag}, text=body)

    return answer


def fetched(pages: dict[str, object], *, before: Feed | None = None, **changes: object) -> Feed:
    return fetch_feed(settings(**changes), before=before, transport=httpx.MockTransport(serving(pages)))


def test_a_feed_becomes_boots_and_sizes() -> None:
    feed = fetched({"/boots.json": {"items": [ITEM, {"kind": "rug"}]}})
    source = Source(name="feed")
    raw = Fetched(source=source, retrieved_on=date(2026, 5, 4), content=feed.written())
    records = read_files(plugin.map(raw, settings=settings()).files, plugin="feed")
    (boot,) = records.boots.values()
    assert (boot.id, boot.closure.value, sorted(boot.intended_uses)) == ("quendle-rill", "strap", ["hacking", "road"])
    assert [(size.code, size.width is None, size.length is None) for size in boot.sizes] == [
        ("wren", False, False),
        ("rook", False, True),
    ]


def test_pages_are_followed_by_expression_and_by_link() -> None:
    pages: dict[str, object] = {
        "/boots.json": {"items": [], "following": "/two.json"},
        "/two.json": {"items": [ITEM], "following": None},
    }
    assert len(fetched(pages, next="following").pages) == 2
    assert len(fetched(pages).pages) == 1

    def linked(request: httpx.Request) -> httpx.Response:
        headers = {"Link": '</two.json>; rel="next"'} if request.url.path == "/boots.json" else {}
        return httpx.Response(200, headers=headers, text='{"items": []}')

    assert len(fetch_feed(settings(), before=None, transport=httpx.MockTransport(linked)).pages) == 2


def test_only_what_changed_is_fetched_again() -> None:
    pages: dict[str, object] = {
        "/boots.json": {"items": [], "following": "/two.json"},
        "/two.json": {"items": [ITEM], "following": None},
    }
    before = fetched(pages, next="following")
    again = fetched(pages, next="following", before=read_feed(before.written()))
    assert again == before
    pages["/two.json"] = {"items": [], "following": None}
    changed = fetched(pages, next="following", before=before)
    assert changed.pages[0] == before.pages[0]
    assert changed.contents()[1] == {"items": [], "following": None}


@pytest.mark.parametrize(
    ("pages", "changes", "why"),
    [
        ({"/boots.json": {"items": [], "following": "/boots.json"}}, {"next": "following"}, "comes again"),
        ({"/boots.json": {"items": [], "following": "/b"}, "/b": {}}, {"next": "following", "most_pages": 1}, "more"),
    ],
)
def test_pages_without_an_end_are_refused(pages: dict[str, object], changes: dict[str, object], why: str) -> None:
    with pytest.raises(FeedRefused, match=why):
        fetched(pages, **changes)


def test_what_is_no_json_is_refused() -> None:
    with pytest.raises(FeedRefused, match="no JSON"):
        fetch_feed(settings(), before=None, transport=httpx.MockTransport(lambda _: httpx.Response(200, text="<p>")))


@pytest.mark.parametrize(
    ("page", "why"),
    [({}, "no list but nothing"), ({"items": [{**ITEM, "variants": 5}]}, "page 1, boot 1"), ([], "no list but")],
)
def test_a_page_that_does_not_fit_is_refused_by_its_place(page: object, why: str) -> None:
    with pytest.raises(MappingFailed, match=why):
        catalog_of([page], settings=settings())


def test_an_expression_that_cannot_be_read_is_refused_with_the_settings() -> None:
    with pytest.raises(ValidationError, match="boots"):
        settings(boots="items[")
