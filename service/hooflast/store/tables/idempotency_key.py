"""The table of idempotency keys: requests that make something, so that one that comes again makes it once."""

from datetime import datetime

from sqlalchemy import ForeignKey, Integer, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class IdempotencyKey(Base):
    """One request: while it is answered without a status, then with its answer, until `gone_at`.

    `asker` is the key or whoever else asks; `fingerprint` is a digest of what was asked.
    """

    __tablename__ = "idempotency_keys"

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    asker: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    key: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    claim: Mapped[str] = mapped_column(Text)
    fingerprint: Mapped[bytes] = mapped_column(LargeBinary)
    gone_at: Mapped[datetime] = mapped_column(Moment, index=True)
    status: Mapped[int | None] = mapped_column(Integer)
    fields: Mapped[bytes | None] = mapped_column(LargeBinary)
    body: Mapped[bytes | None] = mapped_column(LargeBinary)
