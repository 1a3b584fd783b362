"""Workplace: what is worked out from a form, in a thread, so that other requests go on meanwhile."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Generic, Protocol, TypeVar

import msgspec
from pydantic import BaseModel

from hooflast.api.service import Service
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
    """Reads a body, or the same document as Python values, on a day. Raises InputRefused."""

    def __call__(self, raw: object, /, *, today: date) -> Question_co:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Work(Generic[QuestionT, AnswerT]):
    """What is worked out from one form: `read` makes it a question, `answer` answers it, `write` writes that down.

    `form` and `gives` are what the form and the answer look like.
    """

    form: type[BaseModel]
    gives: type[msgspec.Struct]
    read: Reader[QuestionT]
    answer: Callable[[QuestionT, Workplace], AnswerT]
    write: Writer[AnswerT]


async def worked_out(
    asked: object, *, work: Work[QuestionT, AnswerT], service: Service, texts: Texts
) -> msgspec.Struct | str:
    """The answer to a form, as a document or a picture. Nothing is kept. Raises what reading and answering raise."""
    place = Workplace(
        desk=service.desk,
        tenant=service.tenant,
        today=service.clock().date(),
        texts=texts,
        loop=asyncio.get_running_loop(),
    )

    def make() -> msgspec.Struct | str:
        return work.write(work.answer(work.read(asked, today=place.today), place), texts=texts)

    async with service.working:
        return await asyncio.to_thread(make)
