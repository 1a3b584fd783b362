"""Plugins: which catalog plugins were found, and what became of what they offer."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.answers import json_answer
from hooflast.api.documents import PluginList
from hooflast.api.operations import Operation, route
from hooflast.api.parameters import read_query
from hooflast.api.service import HttpRequest, Service
from hooflast.api.shaping import plugin_document
from hooflast.matching.publishing import read_report

LIST_PLUGINS: Final = Operation(
    id="list_plugins",
    method="GET",
    path="/v1/plugins",
    tag="Operation",
    summary="List catalog plugins",
    description="Every catalog plugin that was found, with the faults of what was left out.",
    gives=PluginList,
    meaning="The plugins.",
    speaks=True,
)


@route(LIST_PLUGINS)
async def list_plugins(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Every catalog plugin."""
    read_query(request.scope["query_string"], parameters=LIST_PLUGINS.query)
    texts = service.texts_for(request)
    items = [
        plugin_document(read_report(written), texts=texts)
        for written in (await service.store.plugin_reports.all()).values()
    ]
    return json_answer(PluginList(items=items), headers={"Content-Language": texts.language})
