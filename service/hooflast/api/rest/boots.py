"""Boots: the boot models of the catalog, by maker, intended use, closure and animal type."""

from collections.abc import Sequence
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import catalog_answer
from hooflast.api.documents import BootAnswer, BootDocument, BootPage
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, Page
from hooflast.api.parameters import Query, one_of, read_query, written_as
from hooflast.api.reading import boot_in, boots_in
from hooflast.api.rest.pinning import CATALOG_RELEASE, list_answer, pinned_release
from hooflast.api.service import HttpRequest, Service
from hooflast.api.shaping import boot_document, maker_document
from hooflast.api.sparse import fields_of
from hooflast.catalog.values import BootModel, CatalogRelease
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.hoof import AnimalType

MAKER: Final = written_as(
    r"[a-z0-9][a-z0-9-]{0,62}", name="maker", meaning="Only this maker's boot models, by its id.", examples=("vellory",)
)
USE: Final = one_of(IntendedUse, name="use", meaning="Only boot models made for this use.")
CLOSURE: Final = one_of(Closure, name="closure", meaning="Only boot models closed this way.")
ANIMAL_TYPE: Final = one_of(AnimalType, name="animal_type", meaning="Only boot models made for this kind of animal.")
BOOT_ID: Final = PathParameter(name="boot_id", meaning="The boot model's id.", examples=("vellory-marlowick",))

LIST_BOOTS: Final = Operation(
    id="list_boots",
    method="GET",
    path="/v1/boots",
    tag="Catalog",
    summary="List boot models",
    query=(LIMIT, CURSOR, fields_of(BootDocument, member="items"), MAKER, USE, CLOSURE, ANIMAL_TYPE, CATALOG_RELEASE),
    gives=BootPage,
    meaning="A page of boot models.",
    problems=(404, 410, 503),
    revalidates=True,
)
READ_BOOT: Final = Operation(
    id="read_boot",
    method="GET",
    path="/v1/boots/{boot_id}",
    tag="Catalog",
    summary="Read one boot model",
    path_parameters=(BOOT_ID,),
    query=(fields_of(BootDocument, member="boot"), CATALOG_RELEASE),
    gives=BootAnswer,
    meaning="The boot model with its maker.",
    problems=(404, 410, 503),
    revalidates=True,
)


@route(LIST_BOOTS)
async def list_boots(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A page of boot models."""
    query = read_query(request.scope["query_string"], parameters=LIST_BOOTS.query)
    return await list_answer(request, service, query=query, read=lambda release: _boots(release, query), shape=_page)


@route(READ_BOOT)
async def read_boot(
    *, request: HttpRequest, boot_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One boot model."""
    query = read_query(request.scope["query_string"], parameters=READ_BOOT.query)
    release = await pinned_release(service, query)
    boot = boot_in(release, boot_id)

    def shape() -> BootAnswer:
        maker = maker_document(release.makers[boot.maker], release=release)
        return BootAnswer(boot=boot_document(boot), maker=maker, catalog_release=release.id)

    return catalog_answer(request, shape, release=release.id, query=query)


def _boots(release: CatalogRelease, query: Query) -> tuple[Sequence[BootModel], Sequence[str]]:
    return boots_in(
        release,
        maker=query.get(MAKER),
        use=query.get(USE),
        closure=query.get(CLOSURE),
        animal_type=query.get(ANIMAL_TYPE),
    )


def _page(page: Page[BootModel], release: CatalogRelease) -> BootPage:
    items = [boot_document(boot) for boot in page.items]
    return BootPage(items=items, next=page.next, catalog_release=release.id)
