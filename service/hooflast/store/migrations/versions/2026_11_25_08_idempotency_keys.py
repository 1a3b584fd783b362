"""Idempotency keys: requests that make something make it once. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_08"
down_revision = "2026_11_25_07"

OWN_TENANT = "tenant_id = nullif(current_setting('app.tenant', true), '')"


def upgrade() -> None:
    """Make the table and put it behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "idempotency_keys",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("asker", bytewise, nullable=False),
        sa.Column("key", bytewise, nullable=False),
        sa.Column("claim", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.LargeBinary(), nullable=False),
        sa.Column("gone_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("fields", sa.LargeBinary(), nullable=True),
        sa.Column("body", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "asker", "key", name="pk_idempotency_keys"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_idempotency_keys_tenant_id_tenants"),
    )
    op.create_index("ix_idempotency_keys_gone_at", "idempotency_keys", ["gone_at"])
    if op.get_context().dialect.name == "postgresql":
        op.execute("ALTER TABLE idempotency_keys ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE idempotency_keys FORCE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY own_tenant_only ON idempotency_keys USING ({OWN_TENANT}) WITH CHECK ({OWN_TENANT})")


def downgrade() -> None:
    """Drop the table; a request that comes again is answered again after that."""
    op.drop_table("idempotency_keys")
