"""Health: whether the process lives, and whether it can answer requests."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.answers import json_answer
from hooflast.api.documents import LiveDocument, ReadyDocument
from hooflast.api.operations import Operation, route
from hooflast.api.parameters import read_query
from hooflast.api.refusals import NotReady
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import CatalogUnavailable
from hooflast.store import StoreError

READ_LIVE: Final = Operation(
    id="read_live",
    method="GET",
    is_public=True,
    path="/health/live",
    tag="Operation",
    summary="Whether the process lives",
    gives=LiveDocument,
    meaning="It lives.",
)
READ_READY: Final = Operation(
    id="read_ready",
    method="GET",
    is_public=True,
    path="/health/ready",
    tag="Operation",
    summary="Whether requests can be answered",
    description="The tables are at head, a catalog release is active, and nobody has asked for a stop.",
    gives=ReadyDocument,
    meaning="They can.",
    problems=(503,),
)


@route(READ_LIVE)
async def read_live(request: HttpRequest) -> Response[bytes]:
    """The process lives."""
    read_query(request.scope["query_string"], parameters=READ_LIVE.query)
    return json_answer(LiveDocument(status="live"))


@route(READ_READY)
async def read_ready(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Requests can be answered; NotReady says why not."""
    read_query(request.scope["query_string"], parameters=READ_READY.query)
    reasons = ["stopping"] if service.running.is_stopping else []
    try:
        await service.store.require_ready()
    except StoreError as error:
        reasons.append(error.code)
    try:
        active = service.catalog.active.release
    except CatalogUnavailable as error:
        raise NotReady(reasons=(*reasons, error.code)) from error
    if reasons:
        raise NotReady(reasons=tuple(reasons))
    return json_answer(ReadyDocument(status="ready", catalog_release=active.id))
