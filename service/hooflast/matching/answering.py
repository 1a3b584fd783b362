"""Answering: match one horse, write the answer down, sign it, keep it. What is kept is what is sent, byte for byte."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol
from zlib import compress

import msgspec

from hooflast.catalog.library import Library
from hooflast.catalog.values import ReleaseId
from hooflast.errors import Fault, InputRefused, NotFound
from hooflast.fit import ENGINE
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.match_horse import UNCALIBRATED, match_horse
from hooflast.matching.memo import Memo, MemoKey, Worked
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import MatchReceipt, receipt_facts, sign_receipt
from hooflast.matching.shelf import Shelf
from hooflast.store.ids import new_id
from hooflast.store.values import KeptAnswer, Sent, SigningKey, TenantId


class Writer(Protocol):
    """How an answer is written down, in two parts that are sent one after the other."""

    def head(self, receipt: MatchReceipt, /) -> bytes:
        """The beginning, with the receipt."""

    def rest(self, answer: MatchAnswer, /) -> bytes:
        """Everything after the receipt."""


class Keeper(Protocol):
    """Where answers are kept; `keep` returns once the answer is safe."""

    async def keep(self, answer: KeptAnswer, /) -> None:
        """Keep an answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """On whose behalf, when and in which language a question is asked."""

    tenant: TenantId
    now: datetime
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What questions are answered with: the catalog laid out, the memo, and where answers are kept."""

    library: Library
    shelves: Mapping[ReleaseId, Shelf]
    memo: Memo
    keeper: Keeper

    def shelf(self, pinned: str | None) -> Shelf:
        """The catalog release that a question pins, or else the active one. Raises InputRefused for an unknown pin."""
        try:
            release = self.library.active if pinned is None else self.library.release(pinned)
        except NotFound:
            fault = Fault(path=("catalog_release",), code="catalog-release-unknown", received=pinned)
            raise InputRefused(faults=(fault,)) from None
        return self.shelves[release.id]


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

    def work_out() -> Worked:
        question = read(asked)
        answer = match_horse(question, desk.shelf(question.catalog_release), today=day, language=asker.language)
        rest = writer.rest(answer)
        return Worked(
            question=msgspec.json.encode(question, order="deterministic"),
            release=answer.versions.catalog_release,
            rest=rest,
            packed=compress(rest),
            facts=receipt_facts(answer),
        )

    memo_key = MemoKey(asked=asked, active=desk.library.active.id, day=day, language=asker.language)
    worked = desk.memo.recall(memo_key, work_out=work_out)
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
