"""Catalog seals: what the service signed of each catalog release, and the keys it signs with."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_11"
down_revision = "2026_11_25_10"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "seal_keys",
        sa.Column("kid", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("private", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("kid", name="pk_seal_keys"),
    )
    op.create_table(
        "catalog_release_seals",
        sa.Column("release_id", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("kid", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("token", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["release_id"], ["catalog_releases.id"], name="fk_catalog_release_seals_release_id_catalog_releases"
        ),
        sa.ForeignKeyConstraint(["kid"], ["seal_keys.kid"], name="fk_catalog_release_seals_kid_seal_keys"),
        sa.PrimaryKeyConstraint("release_id", name="pk_catalog_release_seals"),
    )


def downgrade() -> None:
    """Drop the tables, and the seals and keys in them."""
    op.drop_table("catalog_release_seals")
    op.drop_table("seal_keys")
