"""The table of the audit log: who did what. Rows are added and never changed."""

from datetime import datetime

from sqlalchemy import ForeignKey, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class AuditEntry(Base):
    """One thing that was done, in the same transaction as it was. The id sorts by time."""

    __tablename__ = "audit_entries"

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    at: Mapped[datetime] = mapped_column(Moment)
    actor: Mapped[str] = mapped_column(Text)
    deed: Mapped[str] = mapped_column(Text)
    subject: Mapped[str] = mapped_column(Text)
    request_id: Mapped[str | None] = mapped_column(Text)
