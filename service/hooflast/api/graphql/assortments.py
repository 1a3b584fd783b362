"""Assortments: what a client sells, where each SKU leads in the catalog, and what is changed about it."""

import asyncio
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated, Any

import strawberry

from hooflast.access.key import Scope
from hooflast.api import kept_assortments as kept
from hooflast.api.graphql.connections import (
    USUAL,
    After,
    Asked,
    First,
    PageFound,
    connection_type,
    page_found,
)
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.enumerations import enumeration
from hooflast.api.graphql.fields import LOOK_UP, MANY_HORSES, WEIGHT, WHOLE_ASSORTMENT, declared
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.loaders import SeenAssortment
from hooflast.api.graphql.nodes import ID_MEANING, Found, Gone, Node, NodeId, id_of, node_from
from hooflast.api.graphql.outputs import made_from, output_type
from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId
from hooflast.exchange.assortment_document import (
    AssortmentDocument,
    AssortmentItemDocument,
    WhichItems,
    assortment_document,
    head_document,
    item_documents,
)
from hooflast.exchange.assortment_lines import (
    AssortmentChangeForm,
    ListedAssortmentForm,
    read_listed,
    read_listed_change,
)
from hooflast.store import new_id

ASSORTMENT = "Assortment"
enumeration(WhichItems)

Id = Annotated[strawberry.ID, strawberry.argument(description=ID_MEANING)]
Which = Annotated[WhichItems, strawberry.argument(description="Which SKUs to list.")]
Revision = Annotated[
    int | None,
    strawberry.argument(
        description="The revision you have seen: if it has changed since, nothing is done. Left out: whatever it is at."
    ),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemsFound(PageFound):
    """A page of SKUs, and what it was read from."""

    revision: int
    catalog_release: str


@made_from(
    AssortmentDocument,
    name="AssortmentReport",
    without=("id", "name", "currency", "created_at", "as_of"),
    renamed={"items": "itemCount"},
)
class AssortmentReport:
    """How much of an assortment the catalog knows."""


def _found(head: AssortmentHead) -> Found:
    return Found(kind=ASSORTMENT, rest_id=head.id, document=head_document(head))


async def _mapped(root: Any, info: Info) -> kept.MappedOnto:
    seen = SeenAssortment(id=AssortmentId(root.rest_id), revision=root.revision)
    return await info.context.mapped_assortments.load(seen)


async def _report(root: Any, info: Info) -> AssortmentDocument:
    found = await _mapped(root, info)
    return assortment_document(found.assortment.head, found.places, release=found.release, texts=info.context.texts)


async def _items(
    root: Any, info: Info, *, first: First = USUAL, after: After = None, which: Which = WhichItems.ALL
) -> ItemsFound:
    found = await _mapped(root, info)
    head, skus = found.assortment.head, found.skus(which)
    asked = Asked(scope=f"assortments/{head.id}/items", first=first, after=after, filters={"which": which})
    page = page_found(skus, skus, asked=asked, release=head.label, shape=found.assortment.items.__getitem__)
    documents = item_documents(page.nodes, found.places, currency=head.currency, texts=info.context.texts)
    return ItemsFound(
        edges=[replace(edge, node=document) for edge, document in zip(page.edges, documents, strict=True)],
        has_next_page=page.has_next_page,
        has_previous_page=page.has_previous_page,
        revision=head.revision,
        catalog_release=found.release,
    )


ItemConnection = connection_type(
    output_type(AssortmentItemDocument),
    name="AssortmentItem",
    also={
        "revision": strawberry.field(graphql_type=int, description="The assortment's revision."),
        "catalog_release": strawberry.field(graphql_type=str, description="The catalog release they were mapped onto."),
    },
)


@node_from(
    AssortmentDocument,
    kind=ASSORTMENT,
    without=("id", "mapped", "catalog_release", "not_mapped"),
    renamed={"items": "itemCount"},
)
class AssortmentNode(Node):
    """What a client sells."""

    report = strawberry.field(
        resolver=_report,
        graphql_type=AssortmentReport,
        description="How much of it the active catalog release knows, and the first SKUs that lead nowhere.",
        metadata={WEIGHT: WHOLE_ASSORTMENT},
    )
    all_items = strawberry.field(
        resolver=_items,
        graphql_type=ItemConnection,
        name="items",
        description="SKUs in their order, each with the size it is of the active catalog release, or why it is none.",
        metadata={WEIGHT: WHOLE_ASSORTMENT},
    )


AssortmentConnection = connection_type(AssortmentNode, name="Assortment")


@strawberry.type(name="RemovedAssortment", description="An assortment that was removed.")
class RemovedAssortment(Gone):
    """What was removed."""


async def _assortments(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    heads = await info.context.service.store.assortments.all(tenant=info.context.service.tenant)
    return page_found(
        heads,
        [head.id for head in heads],
        asked=Asked(scope="assortments", first=first, after=after),
        release="",
        shape=_found,
    )


async def find_assortment(info: Info, node: NodeId) -> Found:
    """The assortment that a node's id means. Raises NotFound."""
    return _found(await info.context.assortments.load(kept.known_form(node.rest_id)))


async def _assortment(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    return await find_assortment(info, _node(id))


async def _create_assortment(
    info: Info,
    *,
    input: input_type(ListedAssortmentForm),  # type: ignore[valid-type]  # noqa: A002 (the argument's name)
) -> Found:
    service = info.context.service
    made = await _read(input, assortment_id=new_id(), now=service.clock())
    return _found(await kept.make_assortment(made, service=service, by=info.context.actor))


async def _replace_assortment(
    info: Info,
    *,
    id: Id,  # noqa: A002 (the argument's name)
    input: input_type(ListedAssortmentForm),  # type: ignore[valid-type]  # noqa: A002 (the argument's name)
    revision: Revision = None,
) -> Found:
    known, service = kept.known_form(_node(id).rest_id), info.context.service
    made = await _read(input, assortment_id=known, now=service.clock())
    by = info.context.actor
    return _found(await kept.replace_assortment(made, service=service, by=by, revision=revision))


async def _change_assortment(
    info: Info,
    *,
    id: Id,  # noqa: A002 (the argument's name)
    input: input_type(AssortmentChangeForm),  # type: ignore[valid-type]  # noqa: A002 (the argument's name)
    revision: Revision = None,
) -> Found:
    known, service = kept.known_form(_node(id).rest_id), info.context.service
    today = service.clock().date()
    patch = await asyncio.to_thread(lambda: read_listed_change(as_body(input), today=today))
    by = info.context.actor
    return _found(await kept.change_assortment(known, patch, service=service, by=by, revision=revision))


async def _remove_assortment(
    info: Info,
    *,
    id: Id,  # noqa: A002 (the argument's name)
    revision: Revision = None,
) -> RemovedAssortment:
    node, service = _node(id), info.context.service
    known = kept.known_form(node.rest_id)
    await kept.remove_assortment(known, service=service, by=info.context.actor, revision=revision)
    return RemovedAssortment.was(node)


async def _read(given: Any, *, assortment_id: str, now: datetime) -> Assortment:
    return await asyncio.to_thread(lambda: read_listed(as_body(given), assortment_id=assortment_id, now=now))


def _node(written: str) -> NodeId:
    return id_of(written, kind=ASSORTMENT, resource=kept.RESOURCE)


def _changing(resolver: Any, *, gives: Any = AssortmentNode, weight: int = MANY_HORSES, description: str) -> Any:
    return declared(resolver, gives=gives, scope=Scope.ASSORTMENTS, weight=weight, description=description)


FIELDS = {
    "assortments": declared(
        _assortments,
        gives=AssortmentConnection,
        weight=LOOK_UP,
        description="Your assortments, up to 20, oldest first.",
    ),
    "assortment": declared(_assortment, gives=AssortmentNode, weight=LOOK_UP, description="One of your assortments."),
}
MUTATIONS = {
    "create_assortment": _changing(
        _create_assortment,
        description=(
            "Keeps an assortment: what you sell, by SKU, each named by GTIN, or by boot model and size, with price and "
            "stock. Its report says which SKUs lead to nothing in the catalog, and why. CSV is taken in REST alone."
        ),
    ),
    "replace_assortment": _changing(
        _replace_assortment,
        description="The whole of it takes the place of what was. CSV is taken in REST alone.",
    ),
    "change_assortment": _changing(
        _change_assortment,
        description=(
            "Changes an assortment by SKU. Of each SKU in `items` only what is given is changed: what is left out "
            "stays as it was, and what is null is from now on as if it had never been told. A SKU in `remove` is no "
            "longer sold. All of it is done, or nothing."
        ),
    ),
    "remove_assortment": _changing(
        _remove_assortment,
        gives=RemovedAssortment,
        weight=LOOK_UP,
        description="Removes an assortment with all that is in it.",
    ),
}
FINDERS = {ASSORTMENT: find_assortment}
