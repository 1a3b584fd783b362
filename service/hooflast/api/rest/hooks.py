"""Hooks: where a client is told of what happens: made, listed, read, given a new secret, tried, removed."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.access.key import Scope
from hooflast.api.answers import json_answer
from hooflast.api.body import read_body
from hooflast.api.known_ids import require_id
from hooflast.api.operations import Link, Operation, PathParameter, route
from hooflast.api.parameters import read_query
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange.hook_document import (
    DeliveryDocument,
    HookDocument,
    HookList,
    HookWithSecretDocument,
    delivery_document,
    hook_document,
    hook_list,
    hook_with_secret,
)
from hooflast.exchange.hook_form import HookForm, read_hook_wish
from hooflast.jobs.keeping import make_hook, renew_secret, try_hook
from hooflast.jobs.signing import written_secret
from hooflast.store.hook_values import Hook, HookId

HOOK_ID: Final = PathParameter(
    name="hook_id", meaning="The hook's id: a UUID.", schema={"type": "string", "format": "uuid"}
)
HOOKS_TAG: Final = "Hooks"
_ID_IN_ANSWER: Final = "$response.body#/id"
_PATH: Final = "/v1/hooks"

CREATE_HOOK: Final = Operation(
    id="create_hook",
    method="POST",
    path=_PATH,
    tag=HOOKS_TAG,
    summary="Make a hook",
    description=(
        "From now on what happens is told at that address, signed as Standard Webhooks says. The answer holds the "
        "secret to verify it with, and is the only one that does. You can have up to 20 hooks."
    ),
    takes=HookForm,
    gives=HookWithSecretDocument,
    status=201,
    meaning="The hook, with its secret.",
    problems=(409, 503),
    scope=Scope.HOOKS,
    links=(
        Link(name="read", to="read_hook", parameter="hook_id", expression=_ID_IN_ANSWER, meaning="The hook again."),
        Link(name="remove", to="remove_hook", parameter="hook_id", expression=_ID_IN_ANSWER, meaning="Removes it."),
    ),
)
LIST_HOOKS: Final = Operation(
    id="list_hooks",
    method="GET",
    path=_PATH,
    tag=HOOKS_TAG,
    summary="List hooks",
    description="All of them, up to 20, oldest first, without their secrets.",
    gives=HookList,
    meaning="The hooks.",
    problems=(503,),
    scope=Scope.HOOKS,
)
READ_HOOK: Final = Operation(
    id="read_hook",
    method="GET",
    path=_PATH + "/{hook_id}",
    tag=HOOKS_TAG,
    summary="Read a hook",
    path_parameters=(HOOK_ID,),
    gives=HookDocument,
    meaning="The hook, without its secret.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)
REMOVE_HOOK: Final = Operation(
    id="remove_hook",
    method="DELETE",
    path=_PATH + "/{hook_id}",
    tag=HOOKS_TAG,
    summary="Remove a hook",
    description="It is told of nothing more, and what was on its way to it is erased.",
    path_parameters=(HOOK_ID,),
    status=204,
    meaning="It is removed.",
    problems=(404, 503),
    scope=Scope.HOOKS,
    links=(
        Link(
            name="read",
            to="read_hook",
            parameter="hook_id",
            expression="$request.path.hook_id",
            meaning="From now on it is not found.",
        ),
    ),
)
ROTATE_HOOK: Final = Operation(
    id="rotate_hook_secret",
    method="POST",
    path=_PATH + "/{hook_id}/rotations",
    tag=HOOKS_TAG,
    summary="Give a hook a new secret",
    description="Messages are signed with both for 24 hours, so that you can take up the new one meanwhile.",
    path_parameters=(HOOK_ID,),
    gives=HookWithSecretDocument,
    status=201,
    meaning="The hook, with its new secret.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)
TEST_HOOK: Final = Operation(
    id="test_hook",
    method="POST",
    path=_PATH + "/{hook_id}/tests",
    tag=HOOKS_TAG,
    summary="Try a hook",
    description="Sends an event of the kind `hook.test`, soon. A hook that was disabled is enabled.",
    path_parameters=(HOOK_ID,),
    gives=DeliveryDocument,
    status=202,
    meaning="The delivery that was begun.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)


@route(CREATE_HOOK)
async def create_hook(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A new hook."""
    read_query(request.scope["query_string"], parameters=CREATE_HOOK.query)
    settings, now = service.settings, service.clock()
    raw = await read_body(request, limit=settings.max_body_bytes, seconds=settings.request_seconds)
    hook = await make_hook(
        read_hook_wish(raw, today=now.date()),
        store=service.store,
        tenant=service.tenant,
        private=settings.hooks_private_addresses,
        now=now,
        by=service.actor(request),
    )
    return _with_secret(hook, service=service)


@route(LIST_HOOKS)
async def list_hooks(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """All hooks."""
    read_query(request.scope["query_string"], parameters=LIST_HOOKS.query)
    hooks = await service.store.hooks.all(tenant=service.tenant)
    return json_answer(hook_list(hooks, now=service.clock()))


@route(READ_HOOK)
async def read_hook(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One hook."""
    read_query(request.scope["query_string"], parameters=READ_HOOK.query)
    return json_answer(hook_document(await find_hook(service, hook_id), now=service.clock()))


@route(REMOVE_HOOK)
async def remove_hook(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[None]:
    """One hook less."""
    read_query(request.scope["query_string"], parameters=REMOVE_HOOK.query)
    await service.store.hooks.remove(known_id(hook_id), tenant=service.tenant, by=service.actor(request))
    return Response(None)


@route(ROTATE_HOOK)
async def rotate_hook_secret(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A new secret."""
    read_query(request.scope["query_string"], parameters=ROTATE_HOOK.query)
    hook = await renew_secret(
        known_id(hook_id),
        store=service.store,
        tenant=service.tenant,
        now=service.real_clock(),
        by=service.actor(request),
    )
    return _with_secret(hook, service=service)


@route(TEST_HOOK)
async def test_hook(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A trial."""
    read_query(request.scope["query_string"], parameters=TEST_HOOK.query)
    begun = await try_hook(known_id(hook_id), store=service.store, tenant=service.tenant, now=service.clock())
    hook = await find_hook(service, hook_id)
    return json_answer(delivery_document(await service.store.hook_deliveries.find(begun, hook=hook)))


async def find_hook(service: Service, hook_id: str) -> Hook:
    """The hook of who asks. Raises NotFound."""
    return await service.store.hooks.find(known_id(hook_id), tenant=service.tenant)


def known_id(hook_id: str) -> HookId:
    """What cannot be a hook's id is not looked for. Raises NotFound."""
    return HookId(require_id(hook_id, resource="hook"))


def _with_secret(hook: Hook, *, service: Service) -> Response[bytes]:
    document = hook_with_secret(hook, secret=written_secret(hook.secret), now=service.clock())
    return json_answer(document, headers={"Location": f"{service.settings.public_url}{_PATH}/{hook.id}"})
