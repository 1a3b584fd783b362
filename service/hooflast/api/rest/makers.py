"""Makers: who makes the boots."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import catalog_answer
from hooflast.api.documents import MakerAnswer, MakerDocument, MakerPage
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, Page
from hooflast.api.parameters import read_query
from hooflast.api.reading import maker_in, makers_in
from hooflast.api.rest.pinning import CATALOG_RELEASE, list_answer, pinned_release
from hooflast.api.service import HttpRequest, Service
from hooflast.api.shaping import maker_document
from hooflast.api.sparse import fields_of
from hooflast.catalog.values import CatalogRelease, Maker

LIST_MAKERS: Final = Operation(
    id="list_makers",
    method="GET",
    path="/v1/makers",
    tag="Catalog",
    summary="List makers",
    query=(LIMIT, CURSOR, fields_of(MakerDocument, member="items"), CATALOG_RELEASE),
    gives=MakerPage,
    meaning="A page of makers.",
    problems=(404, 410, 503),
    revalidates=True,
)
READ_MAKER: Final = Operation(
    id="read_maker",
    method="GET",
    path="/v1/makers/{maker_id}",
    tag="Catalog",
    summary="Read one maker",
    path_parameters=(PathParameter(name="maker_id", meaning="The maker's id.", examples=("vellory",)),),
    query=(fields_of(MakerDocument, member="maker"), CATALOG_RELEASE),
    gives=MakerAnswer,
    meaning="The maker.",
    problems=(404, 410, 503),
    revalidates=True,
)


@route(LIST_MAKERS)
async def list_makers(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A page of makers."""
    query = read_query(request.scope["query_string"], parameters=LIST_MAKERS.query)
    return await list_answer(request, service, query=query, read=makers_in, shape=_page)


@route(READ_MAKER)
async def read_maker(
    *, request: HttpRequest, maker_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One maker."""
    query = read_query(request.scope["query_string"], parameters=READ_MAKER.query)
    release = await pinned_release(service, query)
    maker = maker_in(release, maker_id)
    return catalog_answer(
        request,
        lambda: MakerAnswer(maker=maker_document(maker, release=release), catalog_release=release.id),
        release=release.id,
        query=query,
    )


def _page(page: Page[Maker], release: CatalogRelease) -> MakerPage:
    items = [maker_document(maker, release=release) for maker in page.items]
    return MakerPage(items=items, next=page.next, catalog_release=release.id)
