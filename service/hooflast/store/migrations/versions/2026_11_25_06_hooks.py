"""Hooks and their deliveries: who is told of what happens. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_06"
down_revision = "2026_11_25_05"


def upgrade() -> None:
    """Make the tables and put them behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "hook_tenants",
        sa.Column("tenant", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("tenant", name="pk_hook_tenants"),
        sa.ForeignKeyConstraint(["tenant"], ["tenants.id"], name="fk_hook_tenants_tenant_tenants"),
    )
    op.create_table(
        "hooks",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("events", sa.Text(), nullable=False),
        sa.Column("secret", sa.LargeBinary(), nullable=False),
        sa.Column("former_secret", sa.LargeBinary(), nullable=True),
        sa.Column("former_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("told_to", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("disabled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("disabled_why", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_hooks"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_hooks_tenant_id_tenants"),
    )
    op.create_table(
        "hook_deliveries",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("hook_id", bytewise, nullable=False),
        sa.Column("event_id", bytewise, nullable=False),
        sa.Column("event_type", sa.Text(), nullable=False),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_status", sa.Integer(), nullable=True),
        sa.Column("last_failure", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_hook_deliveries"),
        sa.ForeignKeyConstraint(
            ["tenant_id", "hook_id"], ["hooks.tenant_id", "hooks.id"], name="fk_hook_deliveries_tenant_id_hooks"
        ),
        sa.UniqueConstraint("tenant_id", "hook_id", "event_id", name="uq_hook_deliveries_tenant_id_hook_id_event_id"),
        sa.CheckConstraint("status IN ('pending', 'delivered', 'given_up')", name="ck_hook_deliveries_status_known"),
    )
    op.create_index(
        "ix_hook_deliveries_tenant_id_status_next_at", "hook_deliveries", ["tenant_id", "status", "next_at"]
    )
    if op.get_context().dialect.name == "postgresql":
        for table in ("hooks", "hook_deliveries"):
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
            op.execute(
                f"CREATE POLICY own_tenant_only ON {table}"
                " USING (tenant_id = nullif(current_setting('app.tenant', true), ''))"
                " WITH CHECK (tenant_id = nullif(current_setting('app.tenant', true), ''))"
            )


def downgrade() -> None:
    """Drop the tables; nobody is told of anything any more."""
    op.drop_table("hook_deliveries")
    op.drop_table("hooks")
    op.drop_table("hook_tenants")
