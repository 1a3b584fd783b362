"""Working out: a form answered by computation alone, in a thread, so that other requests go on meanwhile."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Protocol, TypeVar

import msgspec
from litestar import Response

from hooflast.api.answers import NEVER_KEEP
from hooflast.api.body import read_body
from hooflast.api.negotiation import JSON, SVG
from hooflast.api.operations import Operation
from hooflast.api.parameters import read_query
from hooflast.api.policy import policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.matching.answering import Desk
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.store import TenantId
from hooflast.texts import Texts

QuestionT = TypeVar("QuestionT")
AnswerT = TypeVar("AnswerT")
Answer_contra = TypeVar("Answer_contra", contravariant=True)
Question_co = TypeVar("Question_co", covariant=True)


class Reader(Protocol[Question_co]):
    """Reads a body, on a day. Raises InputRefused."""

    def __call__(self, raw: bytes, /, *, today: date) -> Question_co:
        """The question that a body asks."""


class Writer(Protocol[Answer_contra]):
    """Writes an answer down: a document, or a picture."""

    def __call__(self, answer: Answer_contra, /, *, texts: Texts) -> msgspec.Struct | str:
        """The answer with its sentences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Workplace:
    """What a computation works with: the catalog laid out, the day, and the sentences of the answer."""

    desk: Desk
    tenant: TenantId
    today: date
    texts: Texts
    loop: asyncio.AbstractEventLoop

    def shelf_for(self, question: MatchQuestion) -> Shelf:
        """What a question about a horse is answered from, for the thread that works it out.

        Raises InputRefused for a pin or an assortment that there is not, ReleaseGone, StoreError.
        """
        shelf = self.desk.shelf(question.catalog_release)
        if question.assortment is None:
            return shelf
        asking = self.desk.shops.for_question(question, shelf, tenant=self.tenant)
        return asyncio.run_coroutine_threadsafe(asking, self.loop).result()[1]


async def work_out(
    request: HttpRequest,
    service: Service,
    *,
    operation: Operation,
    read: Reader[QuestionT],
    answer: Callable[[QuestionT, Workplace], AnswerT],
    write: Writer[AnswerT],
) -> Response[bytes]:
    """Read a form and answer it: a document as JSON, a picture as SVG. Nothing is kept.

    `read` turns the body into a question, `answer` the question into an answer, on one day, and `write` that into what
    is sent; all run in a thread. Raises what they raise.
    """
    read_query(request.scope["query_string"], parameters=operation.query)
    settings = service.settings
    raw = await read_body(
        request, limit=settings.max_body_bytes * operation.body_times, seconds=settings.request_seconds
    )
    texts = service.texts_for(request)
    place = Workplace(
        desk=service.desk,
        tenant=service.tenant,
        today=service.clock().date(),
        texts=texts,
        loop=asyncio.get_running_loop(),
    )
    async with service.working:
        made = await asyncio.to_thread(lambda: write(answer(read(raw, today=place.today), place), texts=texts))
    headers = {"Cache-Control": NEVER_KEEP, "Content-Language": texts.language, "Vary": "Accept, Accept-Language"}
    if isinstance(made, str):
        headers["Content-Security-Policy"] = policy_of(made)
        return Response(made.encode(), media_type=SVG, headers=headers)
    return Response(msgspec.json.encode(made), media_type=JSON, headers=headers)
