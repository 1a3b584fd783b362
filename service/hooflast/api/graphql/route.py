"""Route: POST /graphql."""

from typing import Final

import msgspec
from litestar import Response
from litestar.di import NamedDependency
from litestar.handlers import BaseRouteHandler, HTTPRouteHandler

from hooflast.access.key import Scope
from hooflast.api.admission import takes
from hooflast.api.answers import NEVER_KEEP
from hooflast.api.body import read_body
from hooflast.api.caller import REQUEST_ID
from hooflast.api.graphql.answering import ANSWERED, Graphql, GraphqlAnswer
from hooflast.api.graphql.context import Context
from hooflast.api.graphql.request_form import GraphqlForm, read_request
from hooflast.api.graphql.telling import Teller
from hooflast.api.idempotency import key_in, once
from hooflast.api.negotiation import GRAPHQL, JSON, Connection, takes_one_of, weight_in
from hooflast.api.operations import OPERATION, Operation
from hooflast.api.parameters import read_query
from hooflast.api.refusals import NothingAcceptable
from hooflast.api.service import HttpRequest, Service

ANSWERING: Final = "graphql"
"""Under this name the application's state holds what GraphQL is answered with."""

LARGEST_TIMES: Final = 16
"""As large as the largest body that REST reads."""

ANSWER_GRAPHQL: Final = Operation(
    id="answer_graphql",
    method="POST",
    path="/graphql",
    tag="GraphQL",
    summary="Ask in GraphQL",
    description=(
        "Everything that is read, worked out or kept here, by one document (GraphQL over HTTP, September 2026). What "
        "is wrong with single fields is told in `errors`, with the codes of problems. Its schema stands in "
        "`hooflast.graphql`, and its page tells of limits and registered documents. `Idempotency-Key` is for "
        "mutations, and kept where any of their fields has made something; a query passes it over."
    ),
    takes=GraphqlForm,
    body_times=LARGEST_TIMES,
    gives="graphql",
    meaning="The answer, maybe with errors. As `application/graphql-response+json` it is 294 where some fields failed.",
    problems=(503,),
    speaks=True,
    scope=Scope.READ,
    is_made_once=True,
)


async def gives_graphql(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts an answer of GraphQL. Raises NothingAcceptable."""
    accept = _accept(connection)
    if max(weight_in(accept, GRAPHQL), weight_in(accept, JSON)) <= 0:
        raise NothingAcceptable(received=accept, accepted=f"{GRAPHQL}, {JSON}")


async def _answer(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """One document answered; a mutation once, where it has a key. One that cannot be read is refused in any case."""
    read_query(request.scope["query_string"], parameters=ANSWER_GRAPHQL.query)
    key_in(request)
    settings = service.settings
    raw = await read_body(request, limit=settings.max_body_bytes * LARGEST_TIMES, seconds=settings.request_seconds)
    form = read_request(raw)
    context = Context(request, service)
    teller = Teller(texts=context.texts, base=settings.public_url, request_id=request.scope["state"][REQUEST_ID])
    graphql: Graphql = request.app.state[ANSWERING]
    media_type = _media_type(request)
    ready = graphql.prepare(form, caller=service.caller, teller=teller)
    if isinstance(ready, GraphqlAnswer):
        return _sent(ready, media_type=media_type, language=context.texts.language)

    async def make() -> Response[bytes]:
        answer = await graphql.answer(ready, context=context, teller=teller)
        return _sent(answer, media_type=media_type, language=context.texts.language)

    if not ready.is_mutation:
        return await make()
    return await once(
        request,
        service,
        operation=ANSWER_GRAPHQL,
        body=media_type.encode() + ready.asked,
        make=make,
        making=context.making,
    )


def _sent(answer: GraphqlAnswer, *, media_type: str, language: str) -> Response[bytes]:
    is_legacy = media_type == JSON
    return Response(
        msgspec.json.encode(answer.body),
        media_type=JSON if is_legacy else f"{GRAPHQL}; charset=utf-8",
        status_code=ANSWERED if is_legacy else answer.status,
        headers={"Cache-Control": NEVER_KEEP, "Content-Language": language, "Vary": "Accept, Accept-Language"},
    )


answer_graphql: Final = HTTPRouteHandler(
    ANSWER_GRAPHQL.path,
    http_method=ANSWER_GRAPHQL.method,
    name=ANSWER_GRAPHQL.id,
    guards=[takes(None), gives_graphql, takes_one_of((JSON,))],
    media_type=JSON,
    status_code=ANSWERED,
    include_in_schema=False,
    opt={OPERATION: ANSWER_GRAPHQL},
)(_answer)


def _media_type(connection: Connection) -> str:
    accept = _accept(connection)
    return JSON if weight_in(accept, JSON) > weight_in(accept, GRAPHQL) else GRAPHQL


def _accept(connection: Connection) -> str:
    return ",".join(connection.headers.getall("accept", []))
