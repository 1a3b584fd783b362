"""The table of keys: what clients are known by, and what they may do."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Date, ForeignKey, Integer, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class ClientKey(Base):
    """One key. Of its secrets only digests are kept: the newest, and for a while the one before.

    `scopes` and `origins` are words with spaces between them. `tenant_id` is whose rows the key reaches: in test mode,
    those that its client keeps apart.
    """

    __tablename__ = "client_keys"
    __table_args__ = (
        CheckConstraint("kind IN ('server', 'browser')", name="kind_known"),
        CheckConstraint("mode IN ('live', 'test')", name="mode_known"),
    )

    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), index=True)
    name: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(Text)
    mode: Mapped[str] = mapped_column(Text)
    scopes: Mapped[str] = mapped_column(Text)
    origins: Mapped[str] = mapped_column(Text)
    per_minute: Mapped[int] = mapped_column(Integer)
    per_day: Mapped[int] = mapped_column(Integer)
    per_visitor_minute: Mapped[int] = mapped_column(Integer)
    digest: Mapped[bytes] = mapped_column(LargeBinary)
    digest_before: Mapped[bytes | None] = mapped_column(LargeBinary)
    before_until: Mapped[datetime | None] = mapped_column(Moment)
    created_at: Mapped[datetime] = mapped_column(Moment)
    created_by: Mapped[str] = mapped_column(Text)
    expires_at: Mapped[datetime | None] = mapped_column(Moment)
    revoked_at: Mapped[datetime | None] = mapped_column(Moment)
    fixed_release: Mapped[str | None] = mapped_column(BYTEWISE, ForeignKey("catalog_releases.id"))
    fixed_day: Mapped[date | None] = mapped_column(Date)
