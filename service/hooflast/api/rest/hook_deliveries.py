"""Hook deliveries: what is on its way to a hook and what became of it, and how it is delivered again."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.access.key import Scope
from hooflast.api.answers import json_answer
from hooflast.api.body import read_body
from hooflast.api.known_ids import require_id
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link
from hooflast.api.parameters import one_of, read_query
from hooflast.api.rest.hooks import HOOK_ID, HOOKS_TAG, find_hook, known_id
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange.hook_document import DeliveryPage, ReplayDocument, delivery_document, replay_document
from hooflast.exchange.hook_form import ReplayForm, read_since
from hooflast.jobs.keeping import repeat_one, repeat_since
from hooflast.store.hook_values import DeliveryId, DeliveryStatus

DELIVERY_ID: Final = PathParameter(
    name="delivery_id", meaning="The delivery's id: a UUID.", schema={"type": "string", "format": "uuid"}
)
STATUS: Final = one_of(DeliveryStatus, name="status", meaning="Only deliveries that have come so far.")

LIST_DELIVERIES: Final = Operation(
    id="list_hook_deliveries",
    method="GET",
    path="/v1/hooks/{hook_id}/deliveries",
    tag=HOOKS_TAG,
    summary="List deliveries to a hook",
    description="Newest first, with what became of each. What was settled 90 days ago is forgotten.",
    path_parameters=(HOOK_ID,),
    query=(STATUS, LIMIT, CURSOR),
    gives=DeliveryPage,
    meaning="A page of deliveries.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)
REPLAY: Final = Operation(
    id="replay_hook",
    method="POST",
    path="/v1/hooks/{hook_id}/replays",
    tag=HOOKS_TAG,
    summary="Deliver again what happened since",
    description=(
        "Every event that the hook wants and that happened since, also from before there was the hook, each under its "
        "own id; up to 200 at once. Ends of match jobs are kept for 90 days. A hook that was disabled is enabled."
    ),
    path_parameters=(HOOK_ID,),
    takes=ReplayForm,
    gives=ReplayDocument,
    status=202,
    meaning="What is delivered again.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)
REPEAT: Final = Operation(
    id="repeat_hook_delivery",
    method="POST",
    path="/v1/hooks/{hook_id}/deliveries/{delivery_id}/replays",
    tag=HOOKS_TAG,
    summary="Deliver one event again",
    description="Whatever became of it. A hook that was disabled is enabled.",
    path_parameters=(HOOK_ID, DELIVERY_ID),
    gives=ReplayDocument,
    status=202,
    meaning="What is delivered again.",
    problems=(404, 503),
    scope=Scope.HOOKS,
)


@route(LIST_DELIVERIES)
async def list_hook_deliveries(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A page of deliveries."""
    query = read_query(request.scope["query_string"], parameters=LIST_DELIVERIES.query)
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    hook = await find_hook(service, hook_id)
    limit = query.get(LIMIT) or 0
    found = await service.store.hook_deliveries.page(
        hook=hook, status=query.get(STATUS), before=cursor.after if cursor else None, limit=limit + 1
    )
    shown, there, headers = found[:limit], None, {}
    if len(found) > limit:
        address = next_link(path, query=query, scope=path, release="", after=shown[-1].id)
        there = service.settings.public_url + address
        headers["Link"] = f'<{there}>; rel="next"'
    return json_answer(DeliveryPage(items=[delivery_document(one) for one in shown], next=there), headers=headers)


@route(REPLAY)
async def replay_hook(
    *, request: HttpRequest, hook_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """Everything since a moment again."""
    read_query(request.scope["query_string"], parameters=REPLAY.query)
    settings, now = service.settings, service.clock()
    raw = await read_body(request, limit=settings.max_body_bytes, seconds=settings.request_seconds)
    since = read_since(raw, today=now.date())
    caught = await repeat_since(since, hook_id=known_id(hook_id), store=service.store, tenant=service.tenant, now=now)
    return json_answer(replay_document(caught.deliveries, go_on_from=caught.go_on_from))


@route(REPEAT)
async def repeat_hook_delivery(
    *, request: HttpRequest, hook_id: FromPath[str], delivery_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One delivery again."""
    read_query(request.scope["query_string"], parameters=REPEAT.query)
    hook = await find_hook(service, hook_id)
    caught = await repeat_one(
        DeliveryId(require_id(delivery_id, resource="delivery")),
        hook_id=hook.id,
        store=service.store,
        tenant=service.tenant,
        now=service.clock(),
    )
    return json_answer(replay_document(caught.deliveries, go_on_from=caught.go_on_from))
