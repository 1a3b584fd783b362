"""Answers: keep each as it was sent, find it again, erase it. Every query filters by tenant.

Nothing here is cached, so that once an answer is erased no process replays it.
"""

from collections.abc import Collection, Sequence
from datetime import datetime
from functools import partial
from typing import Final

from sqlalchemy import Row, delete, exists, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncEngine, AsyncSession
from sqlalchemy.orm import Session

from hooflast.catalog.values import ReleaseId
from hooflast.errors import NotFound
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.engine import sqlite_connection
from hooflast.store.errors import AnswerAlreadyKept, SigningKeyUnknown, StoreError, TenantUnknown
from hooflast.store.group_writer import GroupWriter
from hooflast.store.idempotency import forget_answers
from hooflast.store.sessions import Sessions, set_tenant
from hooflast.store.sqlite_inserts import SqliteInserts
from hooflast.store.tables import MatchReceipt, SigningKey, Tenant
from hooflast.store.values import KeptAnswer, Sent, TenantId

LARGEST_PAGE: Final = 200

_COLUMNS: Final = (
    MatchReceipt.tenant_id,
    MatchReceipt.id,
    MatchReceipt.created_at,
    MatchReceipt.catalog_release,
    MatchReceipt.engine,
    MatchReceipt.calibration,
    MatchReceipt.question,
    MatchReceipt.answer_head,
    MatchReceipt.answer_packed,
    MatchReceipt.signing_key_id,
)


class Answers:
    """The answers of all tenants, each reached only by its own."""

    def __init__(
        self, sessions: Sessions, *, batch_size: int, most_waiting: int, inserts: SqliteInserts | None = None
    ) -> None:
        """`inserts` is how SQLite keeps answers; where it is None, they are kept through `sessions`."""
        self._sessions = sessions
        self._inserts = inserts
        self._writer = GroupWriter(self._keep_together, batch_size=batch_size, most_waiting=most_waiting)

    async def start(self) -> None:
        """Begin to keep answers."""
        await self._writer.start()

    async def stop(self) -> None:
        """Finish what is being kept, and take nothing more."""
        await self._writer.stop()
        if self._inserts is not None:
            await self._inserts.close()

    async def keep(self, answer: KeptAnswer) -> None:
        """Return once `answer` is durable. Keeping the same answer twice is keeping it once.

        Raises TenantUnknown, SigningKeyUnknown, AnswerAlreadyKept, StoreUnavailable, StoreClosed.
        """
        await self._writer.write(answer)

    async def find(self, answer_id: str, *, tenant: TenantId) -> KeptAnswer:
        """The answer of that id, if it is `tenant`'s. Raises NotFound, StoreUnavailable."""
        async with self._sessions.reading(tenant=tenant) as session:
            found = await _find(session, answer_id, tenant=tenant)
        if found is None:
            raise NotFound(resource="match", name=answer_id)
        return found

    async def some(self, answer_ids: Collection[str], *, tenant: TenantId) -> tuple[KeptAnswer, ...]:
        """Those of the answers of these ids that there are and that are `tenant`'s, by one query."""
        if not answer_ids:
            return ()
        these = select(*_COLUMNS).where(MatchReceipt.tenant_id == tenant, MatchReceipt.id.in_(answer_ids))
        async with self._sessions.reading(tenant=tenant) as session:
            return tuple(_as_value(row) for row in await session.execute(these))

    async def page(self, *, tenant: TenantId, after: str = "", limit: int = 50) -> tuple[KeptAnswer, ...]:
        """The answers of `tenant` in the order of their ids, oldest first, from the one past `after` on."""
        one_page = (
            select(*_COLUMNS)
            .where(MatchReceipt.tenant_id == tenant, MatchReceipt.id > after)
            .order_by(MatchReceipt.id)
            .limit(max(0, min(limit, LARGEST_PAGE)))
        )
        async with self._sessions.reading(tenant=tenant) as session:
            return tuple(_as_value(row) for row in await session.execute(one_page))

    async def erase(self, answer_id: str, *, tenant: TenantId, by: Actor) -> bool:
        """Erase the answer of that id, if it is `tenant`'s, and note who did; nothing replays it afterwards.

        Says if there was one.
        """
        one = delete(MatchReceipt).where(MatchReceipt.tenant_id == tenant, MatchReceipt.id == answer_id)
        async with self._sessions.writing(tenant=tenant) as session:
            erased = await session.scalar(one.returning(MatchReceipt.id)) is not None
            if erased:
                await forget_answers(session, tenant=tenant, about=answer_id)
                await note(session, Deed.MATCH_ERASED, tenant=tenant, subject=answer_id, by=by)
            return erased

    async def _keep_together(self, answers: Sequence[KeptAnswer]) -> None:
        try:
            if self._inserts is not None:
                await self._inserts.insert([_as_row(answer) for answer in answers])
            else:
                await self._insert_by_tenant(answers)
        except IntegrityError as error:
            if len(answers) > 1:
                raise
            reason = await self._why_not_kept(answers[0])
            if reason is not None:
                raise reason from error

    async def _insert_by_tenant(self, answers: Sequence[KeptAnswer]) -> None:
        async with self._sessions.writing() as session:
            for tenant, rows in _rows_by_tenant(answers).items():
                await session.run_sync(_belong_to, tenant)
                await (await session.connection()).execute(insert(MatchReceipt), rows)

    async def _why_not_kept(self, answer: KeptAnswer) -> StoreError | None:
        """Why one answer met a constraint; None if it turns out to be kept already."""
        async with self._sessions.reading(tenant=answer.tenant) as session:
            there = await _find(session, answer.id, tenant=answer.tenant)
            if there is not None:
                return None if there == answer else AnswerAlreadyKept(id=answer.id)
            if not await session.scalar(select(exists().where(Tenant.id == answer.tenant))):
                return TenantUnknown(tenant=answer.tenant)
            if not await session.scalar(select(exists().where(SigningKey.kid == answer.signing_key))):
                return SigningKeyUnknown(kid=answer.signing_key)
        raise RuntimeError(f"answer {answer.id} met a constraint that the store does not know")


def answers_of(engine: AsyncEngine, *, sessions: Sessions, batch_size: int, most_waiting: int) -> Answers:
    """The answers of a database."""
    inserts = None
    if engine.dialect.name == "sqlite":
        connect = partial(sqlite_connection, engine.url.database or "")
        inserts = SqliteInserts(insert(MatchReceipt), connect=connect, dialect=engine.dialect)
    return Answers(sessions, batch_size=batch_size, most_waiting=most_waiting, inserts=inserts)


def _belong_to(session: Session, tenant: TenantId) -> None:
    set_tenant(session.connection(), tenant)


async def _find(session: AsyncSession, answer_id: str, *, tenant: TenantId) -> KeptAnswer | None:
    one = select(*_COLUMNS).where(MatchReceipt.tenant_id == tenant, MatchReceipt.id == answer_id)
    row = (await session.execute(one)).one_or_none()
    return None if row is None else _as_value(row)


def _rows_by_tenant(answers: Sequence[KeptAnswer]) -> dict[TenantId, list[dict[str, object]]]:
    rows: dict[TenantId, list[dict[str, object]]] = {}
    for answer in answers:
        rows.setdefault(answer.tenant, []).append(_as_row(answer))
    return rows


def _as_row(answer: KeptAnswer) -> dict[str, object]:
    return {
        "tenant_id": answer.tenant,
        "id": answer.id,
        "created_at": answer.created_at,
        "catalog_release": answer.catalog_release,
        "engine": answer.engine,
        "calibration": answer.calibration,
        "question": answer.question,
        "answer_head": answer.answer.head,
        "answer_packed": answer.answer.packed,
        "signing_key_id": answer.signing_key,
    }


def _as_value(row: Row[str, str, datetime, str, str, str, bytes, bytes, bytes, str]) -> KeptAnswer:
    return KeptAnswer(
        id=row.id,
        tenant=TenantId(row.tenant_id),
        created_at=row.created_at,
        catalog_release=ReleaseId(row.catalog_release),
        engine=row.engine,
        calibration=row.calibration,
        question=row.question,
        answer=Sent(head=row.answer_head, packed=row.answer_packed),
        signing_key=row.signing_key_id,
    )
