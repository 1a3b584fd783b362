"""Kept matches: a horse matched and its answer kept, found again, and erased, whichever way it was asked for."""

from collections.abc import Iterable, Mapping

from hooflast.api.known_ids import require_id
from hooflast.api.service import Service
from hooflast.errors import NotFound
from hooflast.exchange import AnswerWriter, read_match_question
from hooflast.matching.answering import Answered, Asker, answer_match
from hooflast.store import KeptAnswer, is_id
from hooflast.store.audit import Actor
from hooflast.texts import Texts


async def make_match(asked: bytes, *, service: Service, texts: Texts) -> Answered:
    """Match one horse and keep the answer. Raises InputRefused, ReleaseGone, StoreError."""
    now = service.clock()
    return await answer_match(
        asked,
        read=lambda raw: read_match_question(raw, today=now.date()),
        asker=Asker(tenant=service.tenant, now=now, language=texts.language),
        desk=service.desk,
        key=await service.key.get(),
        writer=AnswerWriter(texts=texts),
    )


async def find_match(service: Service, match_id: str) -> KeptAnswer:
    """The match as it was kept. Raises NotFound."""
    return await service.store.answers.find(require_id(match_id, resource="match"), tenant=service.tenant)


async def find_matches(service: Service, match_ids: Iterable[str]) -> Mapping[str, KeptAnswer]:
    """Those of some matches that were kept, by their ids, asked for at once."""
    known = [match_id for match_id in match_ids if is_id(match_id)]
    return {kept.id: kept for kept in await service.store.answers.some(known, tenant=service.tenant)}


async def remove_match(service: Service, match_id: str, *, by: Actor) -> None:
    """Erase a match. Raises NotFound."""
    if not await service.store.answers.erase(require_id(match_id, resource="match"), tenant=service.tenant, by=by):
        raise NotFound(resource="match", name=match_id)
