"""Assortments and their items. On PostgreSQL each tenant sees its own rows alone."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_09"
down_revision = "2026_11_25_08"

OWN_TENANT = "tenant_id = nullif(current_setting('app.tenant', true), '')"


def upgrade() -> None:
    """Make the tables and put them behind row-level security."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "assortments",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("id", bytewise, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("as_of", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("tenant_id", "id", name="pk_assortments"),
        sa.ForeignKeyConstraint(["tenant_id"], ["tenants.id"], name="fk_assortments_tenant_id_tenants"),
    )
    op.create_table(
        "assortment_items",
        sa.Column("tenant_id", sa.Text(), nullable=False),
        sa.Column("assortment_id", bytewise, nullable=False),
        sa.Column("sku", bytewise, nullable=False),
        sa.Column("gtin", sa.Text(), nullable=True),
        sa.Column("product", sa.Text(), nullable=True),
        sa.Column("size", sa.Text(), nullable=True),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("sold_as", sa.Text(), nullable=True),
        sa.Column("price_minor", sa.BigInteger(), nullable=True),
        sa.Column("stock", sa.Integer(), nullable=True),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("tenant_id", "assortment_id", "sku", name="pk_assortment_items"),
        sa.ForeignKeyConstraint(
            ["tenant_id", "assortment_id"],
            ["assortments.tenant_id", "assortments.id"],
            name="fk_assortment_items_tenant_id_assortments",
            ondelete="CASCADE",
        ),
    )
    if op.get_context().dialect.name == "postgresql":
        for table in ("assortments", "assortment_items"):
            op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
            op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
            op.execute(f"CREATE POLICY own_tenant_only ON {table} USING ({OWN_TENANT}) WITH CHECK ({OWN_TENANT})")


def downgrade() -> None:
    """Drop the tables; what clients sell is forgotten with them."""
    op.drop_table("assortment_items")
    op.drop_table("assortments")
