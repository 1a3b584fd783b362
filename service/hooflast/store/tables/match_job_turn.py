"""The table of turns: which match jobs have work left, so that the service knows whose turn is next."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class MatchJobTurn(Base):
    """What is next to do for one job, from `due_at` on. Rows are the service's own and hold nothing of a client's.

    A turn is taken by moving `due_at` to the end of a lease and leaving `lease` behind; whoever was killed with it is
    followed by another then. `attempts` are the turns taken in vain since the last that came to its end.
    """

    __tablename__ = "match_job_turns"
    __table_args__ = (CheckConstraint("task IN ('answer', 'erase')", name="task_known"),)

    tenant: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    job_id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    task: Mapped[str] = mapped_column(Text)
    due_at: Mapped[datetime] = mapped_column(Moment, index=True)
    lease: Mapped[str | None] = mapped_column(Text)
    attempts: Mapped[int] = mapped_column(Integer)
