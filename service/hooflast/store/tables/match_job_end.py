"""The table of ends: which match jobs are over, and how they ended, so that hooks can be told of erased ones, too."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, Integer, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class MatchJobEnd(Base):
    """One job that is over, as it stood then. It is put down with the end itself and holds nothing of any horse.

    `number` counts the ends of one tenant in the order in which they are seen. It does not point to its job, which may
    be erased before it.
    """

    __tablename__ = "match_job_ends"
    __table_args__ = (
        UniqueConstraint("tenant_id", "job_id"),
        CheckConstraint("state IN ('done', 'failed', 'cancelled')", name="state_over"),
        Index(None, "tenant_id", "ended_at"),
    )

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    job_id: Mapped[str] = mapped_column(BYTEWISE)
    state: Mapped[str] = mapped_column(Text)
    catalog_release: Mapped[str] = mapped_column(Text)
    horses: Mapped[int] = mapped_column(Integer)
    answered: Mapped[int] = mapped_column(Integer)
    refused: Mapped[int] = mapped_column(Integer)
    ended_at: Mapped[datetime] = mapped_column(Moment)
