"""Answering: match one horse, write the answer down, sign it, keep it. What is kept is what is sent, byte for byte.

What is not remembered is worked out in a thread, a few at a time, so that other requests go on meanwhile.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Final, Protocol
from zlib import compress

import msgspec

from hooflast.catalog.values import ReleaseId
from hooflast.fit import ENGINE
from hooflast.fit.hoof import HoofReading
from hooflast.matching.answer import HoofAnswer, MatchAnswer
from hooflast.matching.answer_hoof import answer_hoof
from hooflast.matching.level_pairs import level_pairs
from hooflast.matching.match_horse import answer_horse, choose_for
from hooflast.matching.memo import PACKING, HoofKey, Memo, MemoKey, Worked, WrittenHoof, without_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import MatchReceipt, hoof_facts, receipt_facts, shown_in, sign_receipt
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.matching.versions import UNCALIBRATED
from hooflast.store.ids import new_id
from hooflast.store.values import KeptAnswer, Sent, SigningKey, TenantId

WORKING_AT_ONCE: Final = 1
"""How many computations a process works on at once; others wait their turn.

Two threads would take turns at the interpreter's lock, and each other's time; more processes are what helps.
"""


class Writer(Protocol):
    """How an answer is written down, in two parts that are sent one after the other, and each of its hooves."""

    def head(self, receipt: MatchReceipt, /) -> bytes:
        """The beginning, with the receipt."""

    def hoof(self, hoof: HoofAnswer, /, *, question: MatchQuestion) -> bytes:
        """One hoof of the answer to a question."""

    def rest(self, answer: MatchAnswer, /, *, hooves: Sequence[bytes]) -> bytes:
        """Everything after the receipt, with its hooves as they have been written."""


class Keeper(Protocol):
    """Where answers are kept; `keep` returns once the answer is safe."""

    async def keep(self, answer: KeptAnswer, /) -> None:
        """Keep an answer."""


class Shelves(Protocol):
    """The catalog releases that questions are answered from."""

    @property
    def active(self) -> Shelf:
        """The one that is served where none is pinned. Raises CatalogUnavailable."""

    def before(self, release_id: ReleaseId, /) -> ReleaseId | None:
        """The one published for the day before that of another, if there is one."""

    async def asked_for(self, release_id: str | None, /) -> Shelf:
        """The one that a question pins, or else the active one. Raises InputRefused for an unknown pin, ReleaseGone."""

    def from_thread(self, release_id: str | None, /) -> Shelf:
        """The same, for a thread beside the event loop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """On whose behalf, when and in which language a question is asked."""

    tenant: TenantId
    now: datetime
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What questions are answered with: the catalog laid out, the memo, where answers are kept, and assortments.

    `working` are the turns in which threads work answers out.
    """

    catalog: Shelves
    memo: Memo
    keeper: Keeper
    shops: ShopShelves
    working: asyncio.Semaphore = field(default_factory=lambda: asyncio.Semaphore(WORKING_AT_ONCE))

    def shelf(self, pinned: str | None) -> Shelf:
        """What a question pins, or else the active one, for a thread that works it out. Raises as `from_thread`."""
        return self.catalog.from_thread(pinned)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """An answer that was kept: its id, and the bytes to send, which are the bytes that were kept."""

    id: str
    body: bytes


async def answer_match(
    asked: bytes,
    *,
    read: Callable[[bytes], MatchQuestion],
    asker: Asker,
    desk: Desk,
    key: SigningKey,
    writer: Writer,
) -> Answered:
    """Answer a request and keep the answer. `read` turns its bytes into a question, the same ones always into the same.

    Nothing is kept if any step fails. Raises what `read` raises, InputRefused, CatalogUnavailable and StoreError.
    """
    day = asker.now.date()
    memo_key = MemoKey(asked=asked, active=desk.catalog.active.release.id, day=day, language=asker.language)
    worked = desk.memo.answer(memo_key)
    if worked is None:
        question = read(asked)
        shelf = await desk.catalog.asked_for(question.catalog_release)
        question, shelf = await desk.shops.for_question(question, shelf, tenant=asker.tenant)
        worked = await _in_turn(
            memo_key,
            desk=desk,
            is_remembered=question.assortment is None,
            work_out=partial(_work_out, question, shelf, memo=desk.memo, writer=writer, key=memo_key),
        )
    receipt = sign_receipt(worked.facts, receipt_id=new_id(), tenant=asker.tenant, at=asker.now, key=key)
    head = writer.head(receipt)
    kept = KeptAnswer(
        id=receipt.id,
        tenant=asker.tenant,
        created_at=asker.now,
        catalog_release=worked.release,
        engine=ENGINE,
        calibration=UNCALIBRATED,
        question=worked.question,
        answer=Sent(head=head, packed=worked.packed),
        signing_key=key.kid,
    )
    await desk.keeper.keep(kept)
    return Answered(id=receipt.id, body=head + worked.rest)


async def _in_turn(key: MemoKey, *, desk: Desk, is_remembered: bool, work_out: Callable[[], Worked]) -> Worked:
    """What was worked out meanwhile, or else is now, in a thread; remembered if it depends on its key alone."""
    async with desk.working:
        known = desk.memo.answer(key)
        if known is not None:
            return known
        worked = await asyncio.to_thread(work_out)
        if is_remembered:
            desk.memo.remember(key, worked)
        return worked


def _work_out(question: MatchQuestion, shelf: Shelf, *, memo: Memo, writer: Writer, key: MemoKey) -> Worked:
    """The answer to a question, written down, each hoof as it was worked out before or else is now."""
    day, language = key.day, key.language
    shelf = shelf.on(day)
    choice, horse = choose_for(question, shelf, today=day), without_horse(question)

    def written(reading: HoofReading) -> WrittenHoof:
        boots = choice.boots[reading.limb]
        hoof = answer_hoof(reading, boots=boots, question=question, shelf=shelf, today=day)
        return WrittenHoof.of(writer.hoof(hoof, question=question), facts=hoof_facts(hoof))

    hooves = [
        memo.hoof(
            HoofKey(reading=reading, horse=horse, release=shelf.release.id, day=day, language=language),
            work_out=partial(written, reading),
        )
        for reading in question.hooves
    ]
    shown = dict(shown_in(hoof.facts) for hoof in hooves)
    answer = answer_horse(
        question,
        shelf,
        hooves=(),
        level=level_pairs(shown, shelf),
        left_out=choice.left_out,
        language=language,
    )
    rest = writer.rest(answer, hooves=[hoof.written for hoof in hooves])
    return Worked(
        question=msgspec.json.encode(question, order="deterministic"),
        release=answer.versions.catalog_release,
        rest=rest,
        packed=compress(rest, PACKING),
        facts=receipt_facts(answer, hooves=[hoof.facts for hoof in hooves]),
    )
