"""Client keys, counts of their requests, and the audit log. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_07"
down_revision = "2026_11_25_06"

OWN_TENANT = "tenant_id = nullif(current_setting('app.tenant', true), '')"
SHOWN_KEY = (
    "id = nullif(current_setting('app.key', true), '')"
    " OR nullif(current_setting('app.origin', true), '') = ANY (string_to_array(origins, ' '))"
)


def upgrade() -> None:
    """Make the tables and put those that belong to tenants behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    _make_client_keys(bytewise)
    _make_request_counts(bytewise)
    _make_audit_entries(bytewise)
    if op.get_context().dialect.name == "postgresql":
        for table in ("client_keys", "audit_entries"):
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
            op.execute(f"CREATE POLICY own_tenant_only ON {table} USING ({OWN_TENANT}) WITH CHECK ({OWN_TENANT})")
        op.execute(f"CREATE POLICY shown_key ON client_keys FOR SELECT USING ({SHOWN_KEY})")


def _make_client_keys(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "client_keys",
        sa.Column("id", bytewise, nullable=False),
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("mode", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("origins", sa.Text(), nullable=False),
        sa.Column("per_minute", sa.Integer(), nullable=False),
        sa.Column("per_day", sa.Integer(), nullable=False),
        sa.Column("per_visitor_minute", sa.Integer(), nullable=False),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column("digest_before", sa.LargeBinary(), nullable=True),
        sa.Column("before_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("created_by", sa.Text(), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("fixed_release", bytewise, nullable=True),
        sa.Column("fixed_day", sa.Date(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_client_keys"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_client_keys_tenant_id_tenants"),
        sa.ForeignKeyConstraint(
            ["fixed_release"], ["catalog_releases.id"], name="fk_client_keys_fixed_release_catalog_releases"
        ),
        sa.CheckConstraint("kind IN ('server', 'browser')", name="ck_client_keys_kind_known"),
        sa.CheckConstraint("mode IN ('live', 'test')", name="ck_client_keys_mode_known"),
    )
    op.create_index("ix_client_keys_tenant_id", "client_keys", ["tenant_id"])


def _make_request_counts(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "request_counts",
        sa.Column("whom", bytewise, nullable=False),
        sa.Column("limit_name", sa.Text(), nullable=False),
        sa.Column("window_began", sa.DateTime(timezone=True), nullable=False),
        sa.Column("window_ends", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("whom", "limit_name", "window_began", name="pk_request_counts"),
    )
    op.create_index("ix_request_counts_window_ends", "request_counts", ["window_ends"])


def _make_audit_entries(bytewise: sa.types.TypeEngine[str]) -> None:
    op.create_table(
        "audit_entries",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("deed", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("request_id", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_audit_entries"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_audit_entries_tenant_id_tenants"),
    )


def downgrade() -> None:
    """Drop the tables; no client is let in after that where keys are needed."""
    op.drop_table("audit_entries")
    op.drop_table("request_counts")
    op.drop_table("client_keys")
