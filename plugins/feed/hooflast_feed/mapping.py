"""Mapping: the pages of a feed as one catalog file, by JMESPath."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from jmespath.exceptions import JMESPathError

from hooflast_feed.settings import FeedSettings, compiled

FORMAT: Final = "hooflast-catalog-1"


class MappingFailed(ValueError):
    """An expression that does not fit the feed, and why."""


def catalog_of(pages: Iterable[object], *, settings: FeedSettings) -> tuple[dict[str, Any], dict[str, str]]:
    """The catalog file that pages say, and where each boot and size of it stands in them. Raises MappingFailed."""
    boots: list[dict[str, Any]] = []
    places: dict[str, str] = {}
    for number, page in enumerate(pages, start=1):
        found = _search(settings.boots, page)
        if not isinstance(found, list):
            raise MappingFailed(f"page {number}: boots ({settings.boots}) is no list but {_kind(found)}")
        for place, entry in enumerate(found, start=1):
            where = f"page {number}, boot {place}"
            places[f"/boots/{len(boots)}"] = where
            boot = _record(settings.boot, entry, words=settings.words)
            boot["sizes"] = [_record(settings.size, size, words={}) for size in _sizes(entry, settings, where=where)]
            places |= {
                f"/boots/{len(boots)}/sizes/{size}": f"{where}, size {size + 1}" for size in range(len(boot["sizes"]))
            }
            boots.append(boot)
    used = {boot.get("maker") for boot in boots}
    makers = [maker.model_dump() for maker in settings.makers if maker.id in used]
    return {"format": FORMAT, "makers": makers, "boots": boots}, places


def next_page(page: object, *, settings: FeedSettings) -> str | None:
    """The address of the page after one, where the feed itself says it. Raises MappingFailed."""
    if settings.next is None:
        return None
    found = _search(settings.next, page)
    if found is not None and not isinstance(found, str):
        raise MappingFailed(f"next ({settings.next}) is no text but {_kind(found)}")
    return found


def _sizes(boot: object, settings: FeedSettings, *, where: str) -> list[object]:
    found = _search(settings.sizes, boot)
    if not isinstance(found, list):
        raise MappingFailed(f"{where}: sizes ({settings.sizes}) is no list but {_kind(found)}")
    return found


def _record(fields: Mapping[Any, str], entry: object, *, words: Mapping[Any, Mapping[str, str]]) -> dict[str, Any]:
    """What the expressions find; what they find nothing for, wholly or in part, is left out."""
    told = {name: _search(expression, entry) for name, expression in fields.items()}
    return {
        name: _in_our_words(value, words.get(name, {}))
        for name, value in told.items()
        if value is not None and not (isinstance(value, list) and None in value)
    }


def _in_our_words(value: Any, words: Mapping[str, str]) -> Any:
    if isinstance(value, list):
        return [_in_our_words(each, words) for each in value]
    return words.get(value, value) if isinstance(value, str) else value


def _search(expression: str, value: object) -> Any:
    try:
        return compiled(expression).search(value)
    except (JMESPathError, TypeError, ValueError) as error:
        raise MappingFailed(f"{expression}: {' '.join(str(error).split())}") from None


def _kind(value: object) -> str:
    return "nothing" if value is None else type(value).__name__
