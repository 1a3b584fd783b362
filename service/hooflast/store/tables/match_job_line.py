"""The table of what match jobs were handed: each horse as it was written."""

from sqlalchemy import ForeignKeyConstraint, Integer, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class MatchJobLine(Base):
    """One horse: the line of the input that it begins on, and its text; without one if that was too long."""

    __tablename__ = "match_job_lines"
    __table_args__ = (ForeignKeyConstraint(["tenant_id", "job_id"], ["match_jobs.tenant_id", "match_jobs.id"]),)

    tenant_id: Mapped[str] = mapped_column(Text, primary_key=True)
    job_id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    line: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    body: Mapped[bytes | None] = mapped_column(LargeBinary)
