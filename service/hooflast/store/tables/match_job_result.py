"""The table of what match jobs answered: one row for each horse that has had its turn."""

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, Integer, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class MatchJobResult(Base):
    """The answer to one horse, or its faults, packed. The key lets no line be answered twice."""

    __tablename__ = "match_job_results"
    __table_args__ = (
        ForeignKeyConstraint(
            ["tenant_id", "job_id", "line"],
            ["match_job_lines.tenant_id", "match_job_lines.job_id", "match_job_lines.line"],
        ),
        CheckConstraint("outcome IN ('answered', 'changed', 'refused')", name="outcome_known"),
    )

    tenant_id: Mapped[str] = mapped_column(Text, primary_key=True)
    job_id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    line: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    outcome: Mapped[str] = mapped_column(Text)
    packed: Mapped[bytes] = mapped_column(LargeBinary)
