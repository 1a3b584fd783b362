"""Metrics: the service's own numbers, for Prometheus to read; not there unless the settings say so."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.access.key import Scope
from hooflast.api.answers import NEVER_KEEP
from hooflast.api.metrics import MEDIA_TYPE
from hooflast.api.operations import Operation, route
from hooflast.api.parameters import read_query
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import NotFound

READ_METRICS: Final = Operation(
    id="read_metrics",
    method="GET",
    path="/metrics",
    tag="Operation",
    summary="Read the service's own numbers",
    description="In the text format of Prometheus. 404 unless `HOOFLAST_METRICS` is on.",
    gives="metrics",
    meaning="The numbers.",
    problems=(404,),
    scope=Scope.OPERATE,
)


@route(READ_METRICS)
async def read_metrics(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The numbers of all processes."""
    read_query(request.scope["query_string"], parameters=READ_METRICS.query)
    if service.metrics is None:
        raise NotFound(resource="page", name=READ_METRICS.path)
    return Response(service.metrics.written(), media_type=MEDIA_TYPE, headers={"Cache-Control": NEVER_KEEP})
