"""The table of match jobs: what was asked of many horses, and how far their answers have come."""

from datetime import date, datetime

from sqlalchemy import Boolean, CheckConstraint, Date, ForeignKey, Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class MatchJob(Base):
    """One job. It counts from `received_at` on, when its input has come whole; before that nobody sees it.

    All that an answer depends on is fixed when the job is made: catalog release, day and language. `answered_to` is the
    last line of the input that is answered; `totals` are the sums of what changes, as JSON.
    """

    __tablename__ = "match_jobs"
    __table_args__ = (
        CheckConstraint("state IN ('queued', 'running', 'done', 'failed', 'cancelled')", name="state_known"),
        CheckConstraint("answers IN ('full', 'short', 'changes')", name="answers_known"),
        CheckConstraint("written_as IN ('ndjson', 'csv')", name="written_as_known"),
    )

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    answers: Mapped[str] = mapped_column(Text)
    has_receipts: Mapped[bool] = mapped_column(Boolean)
    catalog_release: Mapped[str] = mapped_column(Text)
    compared_with: Mapped[str | None] = mapped_column(Text)
    is_fixed: Mapped[bool] = mapped_column(Boolean)
    language: Mapped[str] = mapped_column(Text)
    day: Mapped[date] = mapped_column(Date)
    written_as: Mapped[str] = mapped_column(Text)
    heading: Mapped[str] = mapped_column(Text)
    input_bytes: Mapped[int] = mapped_column(Integer)
    input_digest: Mapped[str] = mapped_column(Text)
    created_at: Mapped[datetime] = mapped_column(Moment)
    received_at: Mapped[datetime | None] = mapped_column(Moment)
    started_at: Mapped[datetime | None] = mapped_column(Moment)
    finished_at: Mapped[datetime | None] = mapped_column(Moment)
    kept_until: Mapped[datetime | None] = mapped_column(Moment)
    state: Mapped[str] = mapped_column(Text)
    failure: Mapped[str | None] = mapped_column(Text)
    horses: Mapped[int] = mapped_column(Integer)
    answered: Mapped[int] = mapped_column(Integer)
    refused: Mapped[int] = mapped_column(Integer)
    answered_to: Mapped[int] = mapped_column(Integer)
    totals: Mapped[str] = mapped_column(Text)
