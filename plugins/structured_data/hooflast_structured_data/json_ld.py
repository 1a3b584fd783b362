"""JSON-LD: the objects of a document, or of a page's scripts, with schema.org's terms without their prefix.

Only what needs no other document is read: contexts that name schema.org are taken as such, any other is refused, and
nothing is fetched to understand a document (JSON-LD 1.1, W3C Recommendation 2020).
"""

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any, Final

CONTEXTS: Final = frozenset(
    f"{scheme}://{www}schema.org{end}" for scheme in ("http", "https") for www in ("", "www.") for end in ("", "/")
)
DEEPEST: Final = 30
_PREFIXES: Final = ("schema:", "https://schema.org/", "http://schema.org/")


class JsonLdRefused(ValueError):
    """Why a document is not read."""


def objects_of(content: bytes) -> list[dict[str, Any]]:
    """Every object of a document that has a type, outermost first. Raises JsonLdRefused."""
    text = content.decode("utf-8", "replace").lstrip("\ufeff \n\r\t")
    documents = _scripts(text) if text.startswith("<") else [text]
    found: list[dict[str, Any]] = []
    for document in documents:
        try:
            value = json.loads(document)
        except (json.JSONDecodeError, RecursionError) as error:
            raise JsonLdRefused(f"it is no JSON: {error}") from None
        found += _typed(_terms(value, depth=0), is_top=True)
    return found


def types_of(value: object) -> tuple[str, ...]:
    """What an object is, by schema.org's terms."""
    if not isinstance(value, dict):
        return ()
    told = value.get("@type", ())
    return tuple(str(one) for one in (told if isinstance(told, list) else [told]))


def many(value: Any) -> list[Any]:
    """A value that may stand alone or in a list, as a list."""
    return [] if value is None else value if isinstance(value, list) else [value]


def _typed(value: object, *, is_top: bool) -> Iterator[dict[str, Any]]:
    if isinstance(value, list):
        for each in value:
            yield from _typed(each, is_top=is_top)
    elif isinstance(value, dict):
        if is_top:
            _require_schema_org(value.get("@context"))
        if "@graph" in value:
            yield from _typed(value["@graph"], is_top=False)
        if "@type" in value:
            yield value


def _require_schema_org(context: object) -> None:
    for one in many(context):
        named = {str(one.get("@vocab") or one.get("schema") or "")} if isinstance(one, dict) else {str(one)}
        if not named <= CONTEXTS:
            raise JsonLdRefused(f"its context is {one!r}, not schema.org")
    if context is None:
        raise JsonLdRefused("it has no context")


def _terms(value: object, *, depth: int) -> object:
    """The value with schema.org's terms, as names and as types, in their short form."""
    if depth > DEEPEST:
        raise JsonLdRefused(f"it has more than {DEEPEST} levels")
    if isinstance(value, list):
        return [_terms(each, depth=depth + 1) for each in value]
    if not isinstance(value, dict):
        return value
    if set(value) == {"@value"}:
        return value["@value"]
    return {
        _short(name): ([_short(str(one)) for one in many(inner)] if name == "@type" else _terms(inner, depth=depth + 1))
        for name, inner in value.items()
    }


def _short(name: str) -> str:
    return next((name.removeprefix(prefix) for prefix in _PREFIXES if name.startswith(prefix)), name)


class _Scripts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        kind = (dict(attrs).get("type") or "").partition(";")[0].strip().lower()
        self._inside = tag == "script" and kind == "application/ld+json"
        if self._inside:
            self.found.append("")

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.found[-1] += data


def _scripts(page: str) -> list[str]:
    parser = _Scripts()
    parser.feed(page)
    parser.close()
    if not parser.found:
        raise JsonLdRefused("the page has no script of JSON-LD")
    return parser.found
