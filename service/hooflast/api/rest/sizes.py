"""Sizes: the sizes of one boot model, from small to large."""

from collections.abc import Sequence
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.documents import SizeDocument, SizePage
from hooflast.api.operations import Operation, route
from hooflast.api.paging import CURSOR, LIMIT, Page
from hooflast.api.parameters import read_query
from hooflast.api.reading import boot_in
from hooflast.api.rest.boots import BOOT_ID
from hooflast.api.rest.pinning import CATALOG_RELEASE, list_answer
from hooflast.api.service import HttpRequest, Service
from hooflast.api.shaping import size_documents
from hooflast.api.sparse import fields_of
from hooflast.catalog.values import CatalogRelease

LIST_SIZES: Final = Operation(
    id="list_sizes",
    method="GET",
    path="/v1/boots/{boot_id}/sizes",
    tag="Catalog",
    summary="List the sizes of a boot model",
    description="From small to large, with the hoof dimensions each is made for as the maker's chart prints them.",
    path_parameters=(BOOT_ID,),
    query=(LIMIT, CURSOR, fields_of(SizeDocument, member="items"), CATALOG_RELEASE),
    gives=SizePage,
    meaning="A page of sizes.",
    problems=(404, 410, 503),
    revalidates=True,
)


@route(LIST_SIZES)
async def list_sizes(
    *, request: HttpRequest, boot_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A page of sizes."""
    query = read_query(request.scope["query_string"], parameters=LIST_SIZES.query)

    def read(release: CatalogRelease) -> tuple[Sequence[SizeDocument], Sequence[str]]:
        documents = size_documents(boot_in(release, boot_id).sizes)
        return documents, [document.code for document in documents]

    return await list_answer(request, service, query=query, read=read, shape=_page)


def _page(page: Page[SizeDocument], release: CatalogRelease) -> SizePage:
    return SizePage(items=list(page.items), next=page.next, catalog_release=release.id)
