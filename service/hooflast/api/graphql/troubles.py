"""Troubles: what may be behind a trouble with a boot, in the order to look, and what to change."""

from typing import Annotated

import strawberry

from hooflast.api.graphql.connections import USUAL, After, Asked, First, PageFound, connection_type, page_found
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import declared
from hooflast.api.graphql.nodes import Found, Node, NodeId, node_from
from hooflast.errors import NotFound
from hooflast.exchange.trouble_document import TroubleDocument, trouble_document
from hooflast.matching.troubleshooting import GUIDES, Trouble, TroubleGuide, guide

GUIDE = "TroubleGuide"

Which = Annotated[Trouble, strawberry.argument(description="Which trouble.")]


@node_from(TroubleDocument, kind=GUIDE, without=())
class GuideNode(Node):
    """The guide to one trouble."""


GuideConnection = connection_type(GuideNode, name="TroubleGuide")


def _guide_found(one: TroubleGuide, info: Info) -> Found:
    document = trouble_document(one, texts=info.context.texts)
    return Found(kind=GUIDE, rest_id=one.trouble, document=document)


async def _troubles(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    return page_found(
        GUIDES,
        [one.trouble.value for one in GUIDES],
        asked=Asked(scope="troubles", first=first, after=after),
        release="",
        shape=lambda one: _guide_found(one, info),
    )


async def find_guide(info: Info, node: NodeId) -> Found:
    """The guide that a node's id means. Raises NotFound."""
    if node.rest_id not in list(Trouble):
        raise NotFound(resource="trouble", name=node.rest_id)
    return _guide_found(guide(Trouble(node.rest_id)), info)


async def _trouble(info: Info, *, trouble: Which) -> Found:
    return _guide_found(guide(trouble), info)


FIELDS = {
    "troubles": declared(
        _troubles, gives=GuideConnection, description="Every trouble with its likely causes, in the order to look."
    ),
    "trouble": declared(_trouble, gives=GuideNode, description="The guide to one trouble."),
}
FINDERS = {GUIDE: find_guide}
