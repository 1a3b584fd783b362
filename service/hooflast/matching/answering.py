"""Answering: match one horse, write the answer down, sign it, keep it. What is kept is what is sent, byte for byte."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import msgspec

from hooflast.matching.answer import MatchAnswer
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import MatchReceipt, sign_receipt
from hooflast.matching.shelf import Shelf
from hooflast.store.ids import new_id
from hooflast.store.values import KeptAnswer, SigningKey, TenantId

Write = Callable[[MatchAnswer, MatchReceipt], bytes]


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
    question: MatchQuestion, *, asker: Asker, shelf: Shelf, key: SigningKey, keeper: Keeper, write: Write
) -> KeptAnswer:
    """Answer a question and keep the answer. Nothing is kept if any step fails."""
    answer = match_horse(question, shelf, today=asker.now.date(), language=asker.language)
    receipt = sign_receipt(answer, receipt_id=new_id(), tenant=asker.tenant, at=asker.now, key=key)
    kept = KeptAnswer(
        id=receipt.id,
        tenant=asker.tenant,
        created_at=asker.now,
        catalog_release=answer.versions.catalog_release,
        engine=answer.versions.engine,
        calibration=answer.versions.calibration,
        question=msgspec.json.encode(question, order="deterministic"),
        answer=write(answer, receipt),
        signing_key=key.kid,
    )
    await keeper.keep(kept)
    return kept
