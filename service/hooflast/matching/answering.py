"""Answering: match one horse, write the answer down, sign it, keep it. What is kept is what is sent, byte for byte."""

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import msgspec

from hooflast.fit import ENGINE
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.match_horse import UNCALIBRATED, match_horse
from hooflast.matching.memo import Memo, MemoKey, Worked
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import MatchReceipt, receipt_facts, sign_receipt
from hooflast.matching.shelf import Shelf
from hooflast.store.ids import new_id
from hooflast.store.values import KeptAnswer, SigningKey, TenantId


class Writer(Protocol):
    """How an answer is written down."""

    def body(self, answer: MatchAnswer, /) -> bytes:
        """The answer without a receipt."""

    def with_receipt(self, body: bytes, receipt: MatchReceipt, /) -> bytes:
        """A body with its receipt."""


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


async def answer_match(
    question: MatchQuestion,
    *,
    asker: Asker,
    shelf: Shelf,
    key: SigningKey,
    keeper: Keeper,
    writer: Writer,
    memo: Memo,
) -> KeptAnswer:
    """Answer a question and keep the answer. Nothing is kept if any step fails."""
    day = asker.now.date()
    asked = msgspec.json.encode(question, order="deterministic")

    def work_out() -> Worked:
        answer = match_horse(question, shelf, today=day, language=asker.language)
        return Worked(body=writer.body(answer), facts=receipt_facts(answer))

    memo_key = MemoKey(question=asked, release=shelf.release.id, day=day, language=asker.language)
    worked = memo.recall(memo_key, work_out=work_out)
    receipt = sign_receipt(worked.facts, receipt_id=new_id(), tenant=asker.tenant, at=asker.now, key=key)
    kept = KeptAnswer(
        id=receipt.id,
        tenant=asker.tenant,
        created_at=asker.now,
        catalog_release=shelf.release.id,
        engine=ENGINE,
        calibration=UNCALIBRATED,
        question=asked,
        answer=writer.with_receipt(worked.body, receipt),
        signing_key=key.kid,
    )
    await keeper.keep(kept)
    return kept
