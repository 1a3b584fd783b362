"""Match jobs, their input, their results and their turns. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_10"
down_revision = "2026_11_25_09"

OWN_TENANT = "tenant_id = nullif(current_setting('app.tenant', true), '')"


def upgrade() -> None:
    """Make the tables and put those that belong to tenants behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    _make_jobs(bytewise)
    _make_lines(bytewise)
    _make_results(bytewise)
    _make_turns(bytewise)
    if op.get_context().dialect.name == "postgresql":
        for table in ("match_jobs", "match_job_lines", "match_job_results"):
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
            op.execute(f"CREATE POLICY own_tenant_only ON {table} USING ({OWN_TENANT}) WITH CHECK ({OWN_TENANT})")


def _make_jobs(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "match_jobs",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("has_receipts", sa.Boolean(), nullable=False),
        sa.Column("catalog_release", sa.Text(), nullable=False),
        sa.Column("compared_with", sa.Text(), nullable=True),
        sa.Column("is_fixed", sa.Boolean(), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("written_as", sa.Text(), nullable=False),
        sa.Column("heading", sa.Text(), nullable=False),
        sa.Column("input_bytes", sa.Integer(), nullable=False),
        sa.Column("input_digest", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("kept_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("failure", sa.Text(), nullable=True),
        sa.Column("horses", sa.Integer(), nullable=False),
        sa.Column("answered", sa.Integer(), nullable=False),
        sa.Column("refused", sa.Integer(), nullable=False),
        sa.Column("answered_to", sa.Integer(), nullable=False),
        sa.Column("totals", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_match_jobs"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_match_jobs_tenant_id_tenants"),
        sa.CheckConstraint(
            "state IN ('queued', 'running', 'done', 'failed', 'cancelled')", name="ck_match_jobs_state_known"
        ),
        sa.CheckConstraint("answers IN ('full', 'short', 'changes')", name="ck_match_jobs_answers_known"),
        sa.CheckConstraint("written_as IN ('ndjson', 'csv')", name="ck_match_jobs_written_as_known"),
    )


def _make_lines(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "match_job_lines",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("job_id", bytewise, nullable=False),
        sa.Column("line", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "job_id", "line", name="pk_match_job_lines"),
        sa.ForeignKeyConstraint(
            ["tenant_id", "job_id"],
            ["match_jobs.tenant_id", "match_jobs.id"],
            name="fk_match_job_lines_tenant_id_match_jobs",
        ),
    )


def _make_results(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "match_job_results",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("job_id", bytewise, nullable=False),
        sa.Column("line", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("tenant_id", "job_id", "line", name="pk_match_job_results"),
        sa.ForeignKeyConstraint(
            ["tenant_id", "job_id", "line"],
            ["match_job_lines.tenant_id", "match_job_lines.job_id", "match_job_lines.line"],
            name="fk_match_job_results_tenant_id_match_job_lines",
        ),
        sa.CheckConstraint("outcome IN ('answered', 'changed', 'refused')", name="ck_match_job_results_outcome_known"),
    )


def _make_turns(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "match_job_turns",
        sa.Column("tenant", sa.Text(), nullable=False),
        sa.Column("job_id", bytewise, nullable=False),
        sa.Column("task", sa.Text(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("lease", sa.Text(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("tenant", "job_id", name="pk_match_job_turns"),
        sa.ForeignKeyConstraint(["tenant"], ["tenants.id"], name="fk_match_job_turns_tenant_tenants"),
        sa.CheckConstraint("task IN ('answer', 'erase')", name="ck_match_job_turns_task_known"),
    )
    op.create_index("ix_match_job_turns_due_at", "match_job_turns", ["due_at"])


def downgrade() -> None:
    """Drop the tables; jobs end unfinished, and what they answered is erased."""
    op.drop_table("match_job_turns")
    op.drop_table("match_job_results")
    op.drop_table("match_job_lines")
    op.drop_table("match_jobs")
