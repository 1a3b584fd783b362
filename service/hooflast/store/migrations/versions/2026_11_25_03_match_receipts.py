"""Match receipts: every answer as it was sent. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_03"
down_revision = "2026_11_25_02"


def upgrade() -> None:
    """Make the table and put it behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "match_receipts",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("catalog_release", sa.Text(), nullable=False),
        sa.Column("engine", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("question", sa.LargeBinary(), nullable=False),
        sa.Column("answer_head", sa.LargeBinary(), nullable=False),
        sa.Column("answer_packed", sa.LargeBinary(), nullable=False),
        sa.Column("signing_key_id", bytewise, nullable=False),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_match_receipts"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_match_receipts_tenant_id_tenants"),
        sa.ForeignKeyConstraint(
            ["signing_key_id"], ["signing_keys.kid"], name="fk_match_receipts_signing_key_id_signing_keys"
        ),
    )
    if op.get_context().dialect.name == "postgresql":
        op.execute("ALTER TABLE match_receipts ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE match_receipts FORCE ROW LEVEL SECURITY")
        op.execute(
            "CREATE POLICY own_tenant_only ON match_receipts"
            " USING (tenant_id = nullif(current_setting('app.tenant', true), ''))"
            " WITH CHECK (tenant_id = nullif(current_setting('app.tenant', true), ''))"
        )


def downgrade() -> None:
    """Drop the table, its policy with it; answers kept in it can no longer be replayed."""
    op.drop_table("match_receipts")
