"""Tenants: whom rows belong to. On PostgreSQL each sees its own row alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_01"
down_revision = None


def upgrade() -> None:
    """Make the table and put it behind row-level security."""
    op.create_table(
        "tenants",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tenants"),
        sa.CheckConstraint("id <> ''", name="ck_tenants_id_not_empty"),
    )
    if op.get_context().dialect.name == "postgresql":
        op.execute("ALTER TABLE tenants ENABLE ROW LEVEL SECURITY")
        op.execute("ALTER TABLE tenants FORCE ROW LEVEL SECURITY")
        op.execute(
            "CREATE POLICY own_tenant_only ON tenants"
            " USING (id = nullif(current_setting('app.tenant', true), ''))"
            " WITH CHECK (id = nullif(current_setting('app.tenant', true), ''))"
        )


def downgrade() -> None:
    """Drop the table, its policy with it."""
    op.drop_table("tenants")
