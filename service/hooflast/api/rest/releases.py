"""Releases: the catalog releases this service holds, newest first."""

from collections.abc import Sequence
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import catalog_answer
from hooflast.api.documents import CatalogReleaseDocument, CatalogReleasePage
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, Page
from hooflast.api.parameters import read_query
from hooflast.api.reading import published_in
from hooflast.api.rest.pinning import list_answer
from hooflast.api.service import HttpRequest, Service
from hooflast.api.shaping import release_document
from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.values import CatalogRelease

RELEASE_ID: Final = PathParameter(
    name="release_id", meaning="The catalog release's id: `sha256-` and the digest of its content."
)

LIST_RELEASES: Final = Operation(
    id="list_catalog_releases",
    method="GET",
    path="/v1/catalog-releases",
    tag="Catalog",
    summary="List catalog releases",
    description="Newest first. Any of them can be pinned by the parameter `catalog_release`.",
    query=(LIMIT, CURSOR),
    gives=CatalogReleasePage,
    meaning="A page of catalog releases.",
    problems=(404, 410, 503),
    revalidates=True,
)
READ_RELEASE: Final = Operation(
    id="read_catalog_release",
    method="GET",
    path="/v1/catalog-releases/{release_id}",
    tag="Catalog",
    summary="Read one catalog release",
    path_parameters=(RELEASE_ID,),
    gives=CatalogReleaseDocument,
    meaning="The catalog release.",
    problems=(404, 410, 503),
    revalidates=True,
)


@route(LIST_RELEASES)
async def list_catalog_releases(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A page of catalog releases."""
    query = read_query(request.scope["query_string"], parameters=LIST_RELEASES.query)

    published, active = service.catalog.published, service.catalog.active.release

    def read(_: CatalogRelease) -> tuple[Sequence[KeptRelease], Sequence[str]]:
        return published, [release.id for release in published]

    def shape(page: Page[KeptRelease], _: CatalogRelease) -> CatalogReleasePage:
        return CatalogReleasePage(
            items=[release_document(release, active=active.id) for release in page.items], next=page.next
        )

    held = " ".join(release.id for release in published)
    return await list_answer(request, service, query=query, read=read, shape=shape, made_of=held)


@route(READ_RELEASE)
async def read_catalog_release(
    *, request: HttpRequest, release_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One catalog release."""
    query = read_query(request.scope["query_string"], parameters=READ_RELEASE.query)
    release = published_in(service.catalog.published, release_id)
    active = service.catalog.active.release
    return catalog_answer(
        request,
        lambda: release_document(release, active=active.id),
        release=f"{release.id} {active.id}",
        query=query,
    )
