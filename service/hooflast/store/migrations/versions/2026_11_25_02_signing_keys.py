"""Signing keys: what match receipts are signed with. They are the service's own and belong to no tenant."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_02"
down_revision = "2026_11_25_01"


def upgrade() -> None:
    """Make the table."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "signing_keys",
        sa.Column("kid", bytewise, nullable=False),
        sa.Column("secret", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("kid", name="pk_signing_keys"),
    )


def downgrade() -> None:
    """Drop the table; receipts signed with its keys can no longer be verified."""
    op.drop_table("signing_keys")
