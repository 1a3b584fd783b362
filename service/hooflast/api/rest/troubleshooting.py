"""Troubleshooting: what may be behind a trouble with a boot, in the order to look, and what to change."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import spoken_answer
from hooflast.api.documents import TroubleList
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.parameters import read_query
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import NotFound
from hooflast.exchange.trouble_document import TroubleDocument, trouble_document
from hooflast.matching.troubleshooting import GUIDES, Trouble, guide

LIST_TROUBLES: Final = Operation(
    id="list_troubles",
    method="GET",
    path="/v1/troubleshooting",
    tag="Troubleshooting",
    summary="List troubles with boots",
    description="Every trouble with its likely causes, in the order to look.",
    gives=TroubleList,
    meaning="The troubles.",
    revalidates=True,
    speaks=True,
)
READ_TROUBLE: Final = Operation(
    id="read_trouble",
    method="GET",
    path="/v1/troubleshooting/{trouble}",
    tag="Troubleshooting",
    summary="Read about one trouble",
    path_parameters=(
        PathParameter(
            name="trouble", meaning="Which trouble.", schema={"type": "string", "enum": [one.value for one in Trouble]}
        ),
    ),
    gives=TroubleDocument,
    meaning="The trouble with its likely causes, what to look at, and what to change.",
    problems=(404,),
    revalidates=True,
    speaks=True,
)


@route(LIST_TROUBLES)
async def list_troubles(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Every trouble."""
    read_query(request.scope["query_string"], parameters=LIST_TROUBLES.query)
    texts = service.texts_for(request)
    return spoken_answer(
        request,
        lambda: TroubleList(items=[trouble_document(one, texts=texts) for one in GUIDES]),
        language=texts.language,
    )


@route(READ_TROUBLE)
async def read_trouble(
    *, request: HttpRequest, trouble: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One trouble."""
    read_query(request.scope["query_string"], parameters=READ_TROUBLE.query)
    if trouble not in list(Trouble):
        raise NotFound(resource="trouble", name=trouble)
    texts = service.texts_for(request)
    return spoken_answer(
        request, lambda: trouble_document(guide(Trouble(trouble)), texts=texts), language=texts.language
    )
