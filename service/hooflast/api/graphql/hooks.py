"""Hooks: where a client is told of what happens, and what is on its way there."""

from typing import Annotated, Any

import strawberry

from hooflast.access.key import Scope
from hooflast.api.graphql.connections import (
    USUAL,
    After,
    Asked,
    EdgeFound,
    First,
    PageFound,
    connection_type,
    cursor_in,
    page_found,
)
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import LOOK_UP, WEIGHT, declared
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.loaders import DeliveriesOf
from hooflast.api.graphql.nodes import ID_MEANING, Found, Gone, Node, NodeId, id_of, node_from
from hooflast.api.graphql.outputs import output_type
from hooflast.errors import NotFound
from hooflast.exchange.hook_document import (
    DeliveryDocument,
    HookDocument,
    ReplayDocument,
    delivery_document,
    hook_document,
    replay_document,
)
from hooflast.exchange.hook_form import HookForm, ReplayForm, read_hook_wish, read_since
from hooflast.jobs.keeping import make_hook, renew_secret, repeat_one, repeat_since, try_hook
from hooflast.jobs.signing import written_secret
from hooflast.store import is_id
from hooflast.store.hook_values import Delivery, DeliveryId, DeliveryStatus, Hook, HookId

HOOK = "Hook"
DELIVERY = "HookDelivery"

Id = Annotated[strawberry.ID, strawberry.argument(description=ID_MEANING)]
Status = Annotated[DeliveryStatus | None, strawberry.argument(description="Only deliveries that have come so far.")]


def _hook_found(hook: Hook, info: Info) -> Found:
    return Found(kind=HOOK, rest_id=hook.id, document=hook_document(hook, now=info.context.service.clock()))


def _delivery_found(delivery: Delivery) -> Found:
    """A delivery as a node; its hook is a part of its id, by which it is found again."""
    return Found(kind=DELIVERY, rest_id=delivery.id, within=delivery.hook, document=delivery_document(delivery))


async def _deliveries(
    root: Any, info: Info, *, first: First = USUAL, after: After = None, status: Status = None
) -> PageFound:
    asked = Asked(scope=f"hooks/{root.rest_id}/deliveries", first=first, after=after, filters={"status": status})
    cursor, query = cursor_in(asked), asked.query()
    found = await info.context.deliveries.load(
        DeliveriesOf(hook=HookId(root.rest_id), status=status, before=cursor.after if cursor else None, limit=first + 1)
    )
    return PageFound(
        edges=[
            EdgeFound(node=_delivery_found(one), key=one.id, query=query, scope=asked.scope, release="")
            for one in found[:first]
        ],
        has_next_page=len(found) > first,
        has_previous_page=cursor is not None,
    )


@node_from(DeliveryDocument, kind=DELIVERY)
class DeliveryNode(Node):
    """One event on its way to a hook."""


DeliveryConnection = connection_type(DeliveryNode, name="HookDelivery")


@node_from(HookDocument, kind=HOOK)
class HookNode(Node):
    """An address that is told of what happens."""

    deliveries = strawberry.field(
        resolver=_deliveries,
        graphql_type=DeliveryConnection,
        description="What is on its way to it and what became of it, newest first.",
        metadata={WEIGHT: LOOK_UP},
    )


HookConnection = connection_type(HookNode, name="Hook")


@strawberry.type(name="HookWithSecret", description="A hook with the secret that was just made for it.")
class HookWithSecret:
    """The one answer that holds a secret."""

    hook: HookNode = strawberry.field(description="The hook.")
    secret: str = strawberry.field(description="What you verify its messages with; it is not shown again.")


@strawberry.type(name="RemovedHook", description="A hook that was removed.")
class RemovedHook(Gone):
    """What was removed."""


async def _hooks(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    hooks = await info.context.service.store.hooks.all(tenant=info.context.service.tenant)
    return page_found(
        hooks,
        [hook.id for hook in hooks],
        asked=Asked(scope="hooks", first=first, after=after),
        release="",
        shape=lambda hook: _hook_found(hook, info),
    )


async def find_hook(info: Info, node: NodeId) -> Found:
    """The hook that a node's id means. Raises NotFound, ScopeMissing."""
    info.context.require(Scope.HOOKS)
    return _hook_found(await info.context.hooks.load(_known(node)), info)


async def find_delivery(info: Info, node: NodeId) -> Found:
    """The delivery that a node's id means. Raises NotFound, ScopeMissing."""
    info.context.require(Scope.HOOKS)
    if not is_id(node.rest_id):
        raise NotFound(resource="delivery", name=node.rest_id)
    hook = await info.context.hooks.load(_known(NodeId(kind=HOOK, rest_id=node.within or "")))
    return _delivery_found(await info.context.service.store.hook_deliveries.find(DeliveryId(node.rest_id), hook=hook))


async def _hook(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    return await find_hook(info, id_of(id, kind=HOOK, resource="hook"))


async def _create_hook(
    info: Info,
    *,
    input: input_type(HookForm),  # type: ignore[valid-type]  # noqa: A002 (the argument's name)
) -> HookWithSecret:
    service, now = info.context.service, info.context.service.clock()
    hook = await make_hook(
        read_hook_wish(as_body(input), today=now.date()),
        store=service.store,
        tenant=service.tenant,
        private=service.settings.hooks_private_addresses,
        now=now,
        by=info.context.actor,
    )
    return _with_secret(hook, info)


async def _remove_hook(info: Info, *, id: Id) -> RemovedHook:  # noqa: A002 (the argument's name)
    node, service = id_of(id, kind=HOOK, resource="hook"), info.context.service
    await service.store.hooks.remove(_known(node), tenant=service.tenant, by=info.context.actor)
    return RemovedHook.was(node)


async def _rotate_hook_secret(info: Info, *, id: Id) -> HookWithSecret:  # noqa: A002 (the argument's name)
    node, service = id_of(id, kind=HOOK, resource="hook"), info.context.service
    hook = await renew_secret(
        _known(node),
        store=service.store,
        tenant=service.tenant,
        now=service.real_clock(),
        by=info.context.actor,
    )
    return _with_secret(hook, info)


async def _test_hook(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    node, service = id_of(id, kind=HOOK, resource="hook"), info.context.service
    begun = await try_hook(_known(node), store=service.store, tenant=service.tenant, now=service.clock())
    hook = await service.store.hooks.find(_known(node), tenant=service.tenant)
    return _delivery_found(await service.store.hook_deliveries.find(begun, hook=hook))


async def _replay_hook(
    info: Info,
    *,
    id: Id,  # noqa: A002 (the argument's name)
    input: input_type(ReplayForm),  # type: ignore[valid-type]  # noqa: A002 (the argument's name)
) -> ReplayDocument:
    node, service, now = id_of(id, kind=HOOK, resource="hook"), info.context.service, info.context.service.clock()
    since = read_since(as_body(input), today=now.date())
    caught = await repeat_since(since, hook_id=_known(node), store=service.store, tenant=service.tenant, now=now)
    return replay_document(caught.deliveries, go_on_from=caught.go_on_from)


async def _repeat_hook_delivery(
    info: Info,
    *,
    id: Annotated[strawberry.ID, strawberry.argument(description="The delivery's id as a node.")],  # noqa: A002
) -> ReplayDocument:
    node, service = id_of(id, kind=DELIVERY, resource="delivery"), info.context.service
    if node.within is None or not is_id(node.rest_id):
        raise NotFound(resource="delivery", name=node.rest_id)
    caught = await repeat_one(
        DeliveryId(node.rest_id),
        hook_id=_known(NodeId(kind=HOOK, rest_id=node.within)),
        store=service.store,
        tenant=service.tenant,
        now=service.clock(),
    )
    return replay_document(caught.deliveries, go_on_from=caught.go_on_from)


def _known(node: NodeId) -> HookId:
    """What cannot be a hook's id is not looked for. Raises NotFound."""
    if not is_id(node.rest_id):
        raise NotFound(resource="hook", name=node.rest_id)
    return HookId(node.rest_id)


def _with_secret(hook: Hook, info: Info) -> HookWithSecret:
    shown: Any = _hook_found(hook, info)
    return HookWithSecret(hook=shown, secret=written_secret(hook.secret))


def _declared(resolver: Any, *, gives: Any, description: str) -> Any:
    return declared(resolver, gives=gives, scope=Scope.HOOKS, weight=LOOK_UP, description=description)


FIELDS = {
    "hooks": _declared(_hooks, gives=HookConnection, description="All hooks, up to 20, oldest first."),
    "hook": _declared(_hook, gives=HookNode, description="One hook, without its secret."),
}
MUTATIONS = {
    "create_hook": _declared(
        _create_hook,
        gives=HookWithSecret,
        description=(
            "Makes a hook: from now on what happens is told at that address, signed as Standard Webhooks says. The "
            "answer holds the secret to verify it with, and is the only one that does."
        ),
    ),
    "remove_hook": _declared(
        _remove_hook,
        gives=RemovedHook,
        description="Removes a hook; what was on its way to it is erased.",
    ),
    "rotate_hook_secret": _declared(
        _rotate_hook_secret,
        gives=HookWithSecret,
        description="Gives a hook a new secret. Messages are signed with both for 24 hours.",
    ),
    "test_hook": _declared(
        _test_hook,
        gives=DeliveryNode,
        description="Sends an event of the kind `hook.test`, soon. A hook that was disabled is enabled.",
    ),
    "replay_hook": _declared(
        _replay_hook,
        gives=output_type(ReplayDocument),
        description="Delivers again what happened since a moment, up to 200 events. A disabled hook is enabled.",
    ),
    "repeat_hook_delivery": _declared(
        _repeat_hook_delivery,
        gives=output_type(ReplayDocument),
        description="Delivers one event again, whatever became of it. A hook that was disabled is enabled.",
    ),
}
FINDERS = {HOOK: find_hook, DELIVERY: find_delivery}
