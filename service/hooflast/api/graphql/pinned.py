"""Pinned: the catalog release that a field is read from, and pages of lists in it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

import strawberry

from hooflast.api.graphql.connections import Asked, PageFound, cursor_in, page_found
from hooflast.api.graphql.context import Info
from hooflast.api.refusals import QueryRefused
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import Fault

Item = TypeVar("Item")
Listed = tuple[Sequence[Item], Sequence[str]]

Pin = Annotated[
    str | None,
    strawberry.argument(description="Pins a catalog release by its REST id; left out, the active one is read."),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A catalog release to read from, and the one that was pinned, if one was."""

    release: CatalogRelease
    pinned: str | None = None


async def place_of(info: Info, pinned: str | None) -> Place:
    """What is pinned, or the active release. Raises NotFound, ReleaseGone, CatalogUnavailable."""
    shelf = await info.context.service.catalog.pinned(pinned)
    return Place(release=shelf.release, pinned=pinned)


async def pinned_page(
    info: Info,
    *,
    asked: Asked,
    pinned: str | None,
    read: Callable[[CatalogRelease], Listed[Item]],
    shape: Callable[[Item, Place], Any],
) -> PageFound:
    """A page of a list in a catalog release; a cursor goes on in the release that it was made on."""
    cursor = cursor_in(asked)
    place = await place_of(info, pinned or (cursor.release if cursor else None))
    if cursor is not None and cursor.release != place.release.id:
        raise _of_another_release(asked)
    place = Place(release=place.release, pinned=pinned)
    items, keys = read(place.release)
    return page_found(items, keys, asked=asked, release=place.release.id, shape=lambda item: shape(item, place))


def page_within(place: Place, *, asked: Asked, listed: Listed[Item], shape: Callable[[Item, Place], Any]) -> PageFound:
    """A page of a list that belongs to something already found. Raises QueryRefused for another release's cursor."""
    cursor = cursor_in(asked)
    if cursor is not None and cursor.release != place.release.id:
        raise _of_another_release(asked)
    items, keys = listed
    return page_found(items, keys, asked=asked, release=place.release.id, shape=lambda item: shape(item, place))


def _of_another_release(asked: Asked) -> QueryRefused:
    return QueryRefused(faults=(Fault(path=("after",), code="cursor-of-another-query", received=asked.after),))
