"""Assortment items: the SKUs of an assortment page by page, each with where it leads in the catalog."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import json_answer
from hooflast.api.kept_assortments import known_form, mapped
from hooflast.api.operations import Operation, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link, page_of
from hooflast.api.parameters import one_of, read_query
from hooflast.api.rest.assortments import ASSORTMENT_ID, READ_ASSORTMENT, TAG
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange.assortment_document import AssortmentItemList, WhichItems, item_documents

WHICH: Final = one_of(WhichItems, name="which", meaning="Which SKUs to list; left out: all.")

LIST_ITEMS: Final = Operation(
    id="list_assortment_items",
    method="GET",
    path=f"{READ_ASSORTMENT.path}/items",
    tag=TAG,
    summary="List what is in an assortment",
    description="SKUs in their order, each with the size it is of the active catalog release, or why it is none.",
    path_parameters=(ASSORTMENT_ID,),
    query=(WHICH, LIMIT, CURSOR),
    gives=AssortmentItemList,
    meaning="A page of SKUs.",
    problems=(404, 503),
    speaks=True,
)


@route(LIST_ITEMS)
async def list_assortment_items(
    *, request: HttpRequest, assortment_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A page of an assortment's SKUs."""
    query = read_query(request.scope["query_string"], parameters=LIST_ITEMS.query)
    cursor = cursor_of(query, scope=request.url.path)
    found = await mapped(service, known_form(assortment_id))
    head = found.assortment.head
    skus = found.skus(query.get(WHICH) or WhichItems.ALL)
    page = page_of(skus, skus, query=query, cursor=cursor)
    following = None
    if page.last is not None:
        path = request.url.path
        address = next_link(path, query=query, scope=path, release=head.label, after=page.last)
        following = f"{service.settings.public_url}{address}"
    texts = service.texts_for(request)
    items = [found.assortment.items[sku] for sku in page.items]
    document = AssortmentItemList(
        revision=head.revision,
        catalog_release=found.release,
        items=item_documents(items, found.places, currency=head.currency, texts=texts),
        next=following,
    )
    link = {"Link": f'<{following}>; rel="next"'} if following else {}
    return json_answer(document, headers={"Content-Language": texts.language, **link})
