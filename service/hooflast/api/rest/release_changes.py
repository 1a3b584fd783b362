"""Release changes: what changed from one catalog release to another, record by record."""

from dataclasses import replace
from typing import Annotated, Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath
from msgspec import Meta

from hooflast.api.answers import catalog_answer
from hooflast.api.documents import NEXT, RELEASE, Document
from hooflast.api.operations import Operation, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link, page_of
from hooflast.api.parameters import Query, read_query, written_as
from hooflast.api.release_comparing import compared
from hooflast.api.rest.releases import RELEASE_ID
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.comparing import RecordChange
from hooflast.exchange.changes_document import (
    CountsDocument,
    RecordChangeDocument,
    change_document,
    counts_documents,
)

SINCE: Final = written_as(
    r"sha256-[0-9a-f]{64}",
    name="since",
    meaning="The catalog release to compare with, by its id; left out, the one before.",
)


class ChangePage(Document, frozen=True):
    """What changed: makers first, then boot models, then accessories, each in the order of their ids."""

    items: Annotated[list[RecordChangeDocument], Meta(max_length=100)]
    counts: Annotated[list[CountsDocument], Meta(description="How much changed in all, one line a kind.")]
    next: Annotated[str | None, NEXT]
    since: Annotated[
        str | None, Meta(description="What it was compared with; null: there is none before it, all was added.")
    ]
    catalog_release: Annotated[str, RELEASE]


LIST_CHANGES: Final = Operation(
    id="list_catalog_release_changes",
    method="GET",
    path="/v1/catalog-releases/{release_id}/changes",
    tag="Catalog",
    summary="List what a catalog release changed",
    description=(
        "Makers, boot models and accessories that were added, removed, renamed or changed, down to the ends of a "
        "size's ranges. A page holds up to 100 records."
    ),
    path_parameters=(RELEASE_ID,),
    query=(LIMIT, CURSOR, SINCE),
    gives=ChangePage,
    meaning="A page of changes.",
    problems=(404, 410, 503),
    revalidates=True,
)


@route(LIST_CHANGES)
async def list_catalog_release_changes(
    *, request: HttpRequest, release_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A page of what changed."""
    query = read_query(request.scope["query_string"], parameters=LIST_CHANGES.query)
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    found = await compared(service, release_id, since=query.get(SINCE))
    page = page_of(found.changes.records, found.keys, query=query, cursor=cursor)
    if page.last is not None:
        settled = query if found.since is None else Query(values={**query.values, SINCE.name: found.since})
        address = next_link(path, query=settled, scope=path, release=found.release, after=page.last)
        page = replace(page, next=service.settings.public_url + address)

    def shape() -> ChangePage:
        shown: list[RecordChange] = list(page.items)
        return ChangePage(
            items=[change_document(change) for change in shown],
            counts=counts_documents(found.changes),
            next=page.next,
            since=found.since,
            catalog_release=found.release,
        )

    return catalog_answer(request, shape, release=f"{found.since} {found.release}", query=query, next_page=page.next)
