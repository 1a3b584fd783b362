"""Matches: one horse in, boots out; the answer read again byte for byte, and erased."""

from typing import Final

import msgspec
from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api import sparse
from hooflast.api.answers import NEVER_KEEP
from hooflast.api.body import read_body
from hooflast.api.idempotency import once
from hooflast.api.kept_matches import find_match, make_match, remove_match
from hooflast.api.negotiation import JSON
from hooflast.api.operations import Link, Operation, PathParameter, route
from hooflast.api.parameters import read_query
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange import MatchAnswerDocument, MatchForm

MATCH_ID: Final = PathParameter(
    name="match_id", meaning="The match's id: a UUID.", schema={"type": "string", "format": "uuid"}
)
FIELDS: Final = sparse.fields_of(MatchAnswerDocument)
_ID_IN_ANSWER: Final = "$response.body#/id"

CREATE_MATCH: Final = Operation(
    id="create_match",
    method="POST",
    path="/v1/matches",
    tag="Matching",
    summary="Match one horse",
    description=(
        "Measurements of one to four hooves in; for each hoof the boot models that suit it, with the best size, how "
        "likely it fits, and why. The answer is kept as it was sent, with a signed match receipt."
    ),
    takes=MatchForm,
    gives=MatchAnswerDocument,
    status=201,
    meaning="The match.",
    problems=(503,),
    speaks=True,
    is_made_once=True,
    links=(
        Link(
            name="read",
            to="read_match",
            parameter="match_id",
            expression=_ID_IN_ANSWER,
            meaning="The same answer again, byte for byte.",
        ),
        Link(
            name="erase",
            to="erase_match",
            parameter="match_id",
            expression=_ID_IN_ANSWER,
            meaning="Erases the answer for good.",
        ),
    ),
)
READ_MATCH: Final = Operation(
    id="read_match",
    method="GET",
    path="/v1/matches/{match_id}",
    tag="Matching",
    summary="Read a match again",
    description="The stored answer, byte for byte as it was sent, in the language it was asked in.",
    path_parameters=(MATCH_ID,),
    query=(FIELDS,),
    gives=MatchAnswerDocument,
    meaning="The match.",
    problems=(404, 503),
)
ERASE_MATCH: Final = Operation(
    id="erase_match",
    method="DELETE",
    path="/v1/matches/{match_id}",
    tag="Matching",
    summary="Erase a match",
    description="Erases the stored answer and question for good; a match receipt in your hands stays valid.",
    path_parameters=(MATCH_ID,),
    status=204,
    meaning="It is erased.",
    problems=(404, 503),
    links=(
        Link(
            name="read",
            to="read_match",
            parameter="match_id",
            expression="$request.path.match_id",
            meaning="From now on it is not found.",
        ),
    ),
)


@route(CREATE_MATCH)
async def create_match(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """One horse in, boots out."""
    read_query(request.scope["query_string"], parameters=CREATE_MATCH.query)
    settings = service.settings
    raw = await read_body(request, limit=settings.max_body_bytes, seconds=settings.request_seconds)
    texts = service.texts_for(request)

    async def make() -> Response[bytes]:
        answered = await make_match(raw, service=service, texts=texts)
        headers = {
            "Cache-Control": NEVER_KEEP,
            "Content-Language": texts.language,
            "Location": f"{settings.public_url}{CREATE_MATCH.path}/{answered.id}",
        }
        return Response(answered.body, media_type=JSON, headers=headers)

    return await once(request, service, operation=CREATE_MATCH, body=raw, make=make)


@route(READ_MATCH)
async def read_match(
    *, request: HttpRequest, match_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """The stored answer."""
    query = read_query(request.scope["query_string"], parameters=READ_MATCH.query)
    kept = await find_match(service, match_id)
    headers = {"Cache-Control": NEVER_KEEP}
    if (fields := query.get(FIELDS)) is None:
        return Response(kept.answer.whole, media_type=JSON, headers=headers)
    thin = fields.of(msgspec.json.decode(kept.answer.whole))
    return Response(msgspec.json.encode(thin), media_type=sparse.MEDIA_TYPE, headers=headers)


@route(ERASE_MATCH)
async def erase_match(
    *, request: HttpRequest, match_id: FromPath[str], service: NamedDependency[Service]
) -> Response[None]:
    """The stored answer is erased."""
    read_query(request.scope["query_string"], parameters=ERASE_MATCH.query)
    await remove_match(service, match_id, by=service.actor(request))
    return Response(None)
