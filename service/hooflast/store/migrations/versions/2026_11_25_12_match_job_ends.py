"""Ends of match jobs, and how far hooks were told of them. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_12"
down_revision = "2026_11_25_11"

OWN_TENANT = "tenant_id = nullif(current_setting('app.tenant', true), '')"


def upgrade() -> None:
    """Make the table, put it behind row-level security, and let every hook begin with what ends from now on."""
    op.create_table(
        "match_job_ends",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("job_id", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("catalog_release", sa.Text(), nullable=False),
        sa.Column("horses", sa.Integer(), nullable=False),
        sa.Column("answered", sa.Integer(), nullable=False),
        sa.Column("refused", sa.Integer(), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant_id", "number", name="pk_match_job_ends"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_match_job_ends_tenant_id_tenants"),
        sa.UniqueConstraint("tenant_id", "job_id", name="uq_match_job_ends_tenant_id_job_id"),
        sa.CheckConstraint("state IN ('done', 'failed', 'cancelled')", name="ck_match_job_ends_state_over"),
    )
    op.create_index("ix_match_job_ends_tenant_id_ended_at", "match_job_ends", ["tenant_id", "ended_at"])
    op.add_column("hooks", sa.Column("told_of_jobs_to", sa.Integer(), nullable=False, server_default=sa.text("0")))
    if op.get_context().dialect.name == "postgresql":
        op.execute("ALTER TABLE match_job_ends ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE match_job_ends FORCE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY own_tenant_only ON match_job_ends USING ({OWN_TENANT}) WITH CHECK ({OWN_TENANT})")


def downgrade() -> None:
    """Drop both; hooks are told of no match jobs any more."""
    op.drop_column("hooks", "told_of_jobs_to")
    op.drop_table("match_job_ends")
