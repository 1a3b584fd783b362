"""Pinning: which catalog release a request reads from, and the pages of a list in it."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Final, TypeVar

from litestar import Response

from hooflast.api.answers import catalog_answer
from hooflast.api.paging import Page, cursor_of, next_link, page_of
from hooflast.api.parameters import Query, written_as
from hooflast.api.refusals import QueryRefused
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import Fault

Item = TypeVar("Item")

CATALOG_RELEASE: Final = written_as(
    r"sha256-[0-9a-f]{64}",
    name="catalog_release",
    meaning="Pins a catalog release by its id; left out, the active one is read.",
)


async def pinned_release(service: Service, query: Query) -> CatalogRelease:
    """The catalog release that `query` pins, or the active one. Raises NotFound, ReleaseGone, CatalogUnavailable."""
    return (await service.catalog.pinned(query.get(CATALOG_RELEASE))).release


async def list_answer(
    request: HttpRequest,
    service: Service,
    *,
    query: Query,
    read: Callable[[CatalogRelease], tuple[Sequence[Item], Sequence[str]]],
    shape: Callable[[Page[Item], CatalogRelease], Any],
    made_of: str = "",
) -> Response[bytes]:
    """One page of a list that `read` takes from a catalog release, items and their keys, put in form by `shape`.

    A cursor goes on in the catalog release it was made on; one that contradicts a pinned release is refused.
    `made_of` names what else the list is made of than that catalog release, for its ETag.
    """
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    release = (await service.catalog.pinned(cursor.release if cursor else query.get(CATALOG_RELEASE))).release
    pinned = query.get(CATALOG_RELEASE)
    if pinned is not None and pinned != release.id:
        fault = Fault(path=(CATALOG_RELEASE.name,), code="cursor-of-another-query", received=pinned)
        raise QueryRefused(faults=(fault,))
    items, keys = read(release)
    page = page_of(items, keys, query=query, cursor=cursor)
    if page.last is not None:
        address = next_link(path, query=query, scope=path, release=release.id, after=page.last)
        page = replace(page, next=service.settings.public_url + address)
    return catalog_answer(
        request, lambda: shape(page, release), release=made_of + release.id, query=query, next_page=page.next
    )
