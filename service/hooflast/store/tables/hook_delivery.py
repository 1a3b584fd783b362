"""The table of deliveries: each event on its way to one hook, until it has arrived or is given up."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, Index, Integer, LargeBinary, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class HookDelivery(Base):
    """One event for one hook. `body` is what is sent, the same bytes at every attempt.

    An attempt is begun by counting it and moving `next_at` past its end; so what a killed process began is due again.
    """

    __tablename__ = "hook_deliveries"
    __table_args__ = (
        ForeignKeyConstraint(["tenant_id", "hook_id"], ["hooks.tenant_id", "hooks.id"]),
        UniqueConstraint("tenant_id", "hook_id", "event_id"),
        CheckConstraint("status IN ('pending', 'delivered', 'given_up')", name="status_known"),
        Index(None, "tenant_id", "status", "next_at"),
    )

    tenant_id: Mapped[str] = mapped_column(Text, primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    hook_id: Mapped[str] = mapped_column(BYTEWISE)
    event_id: Mapped[str] = mapped_column(BYTEWISE)
    event_type: Mapped[str] = mapped_column(Text)
    happened_at: Mapped[datetime] = mapped_column(Moment)
    body: Mapped[bytes] = mapped_column(LargeBinary)
    created_at: Mapped[datetime] = mapped_column(Moment)
    status: Mapped[str] = mapped_column(Text)
    attempts: Mapped[int] = mapped_column(Integer)
    next_at: Mapped[datetime] = mapped_column(Moment)
    settled_at: Mapped[datetime | None] = mapped_column(Moment)
    last_status: Mapped[int | None] = mapped_column(Integer)
    last_failure: Mapped[str | None] = mapped_column(Text)
