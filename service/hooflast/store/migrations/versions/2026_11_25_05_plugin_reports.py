"""Plugin reports and fetches: what became of each catalog plugin the last time it was asked, and what it fetched."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_05"
down_revision = "2026_11_25_04"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "plugin_reports",
        sa.Column("plugin", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("report", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("plugin", name="pk_plugin_reports"),
    )

    op.create_table(
        "plugin_fetches",
        sa.Column("plugin", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("source", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("plugin", "source", name="pk_plugin_fetches"),
    )


def downgrade() -> None:
    """Drop the tables; plugins are asked, and fetch everything, again at the next start."""
    op.drop_table("plugin_fetches")
    op.drop_table("plugin_reports")
