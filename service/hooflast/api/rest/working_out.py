"""Working out: a form read from a body and answered by computation alone."""

from typing import TypeVar

import msgspec
from litestar import Response

from hooflast.api.answers import NEVER_KEEP
from hooflast.api.body import read_body
from hooflast.api.negotiation import JSON, SVG
from hooflast.api.operations import Operation
from hooflast.api.parameters import read_query
from hooflast.api.policy import policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.api.workplace import Work, worked_out

QuestionT = TypeVar("QuestionT")
AnswerT = TypeVar("AnswerT")


async def work_out(
    request: HttpRequest, service: Service, *, operation: Operation, work: Work[QuestionT, AnswerT]
) -> Response[bytes]:
    """Read a form and answer it: a document as JSON, a picture as SVG. Nothing is kept. Raises as `worked_out` does."""
    read_query(request.scope["query_string"], parameters=operation.query)
    settings = service.settings
    raw = await read_body(
        request, limit=settings.max_body_bytes * operation.body_times, seconds=settings.request_seconds
    )
    texts = service.texts_for(request)
    made = await worked_out(raw, work=work, service=service, texts=texts)
    headers = {"Cache-Control": NEVER_KEEP, "Content-Language": texts.language, "Vary": "Accept, Accept-Language"}
    if isinstance(made, str):
        headers["Content-Security-Policy"] = policy_of(made)
        return Response(made.encode(), media_type=SVG, headers=headers)
    return Response(msgspec.json.encode(made), media_type=JSON, headers=headers)
