"""Plugins: which catalog plugins were found, and what became of what they offer."""

from hooflast.api.documents import PluginDocument
from hooflast.api.graphql.connections import USUAL, After, Asked, First, PageFound, connection_type, page_found
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import LOOK_UP, declared
from hooflast.api.graphql.nodes import Found, Node, NodeId, node_from
from hooflast.api.shaping import plugin_document
from hooflast.catalog.loading import PluginReport
from hooflast.errors import NotFound

PLUGIN = "Plugin"


@node_from(PluginDocument, kind=PLUGIN, without=())
class PluginNode(Node):
    """What became of one catalog plugin."""


PluginConnection = connection_type(PluginNode, name="Plugin")


def _plugin_found(report: PluginReport, info: Info) -> Found:
    document = plugin_document(report, texts=info.context.texts)
    return Found(kind=PLUGIN, rest_id=report.plugin, document=document)


async def _plugins(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    reports = await info.context.plugins.load(None)
    return page_found(
        list(reports.values()),
        list(reports),
        asked=Asked(scope="plugins", first=first, after=after),
        release="",
        shape=lambda report: _plugin_found(report, info),
    )


async def find_plugin(info: Info, node: NodeId) -> Found:
    """The plugin that a node's id means. Raises NotFound."""
    reports = await info.context.plugins.load(None)
    if node.rest_id not in reports:
        raise NotFound(resource="plugin", name=node.rest_id)
    return _plugin_found(reports[node.rest_id], info)


FIELDS = {
    "plugins": declared(
        _plugins,
        gives=PluginConnection,
        weight=LOOK_UP,
        description="Every catalog plugin that was found, with the faults of what was left out.",
    ),
}
FINDERS = {PLUGIN: find_plugin}
