"""Plugin reports: what became of each catalog plugin the last time it was asked. They are the service's own."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_05"
down_revision = "2026_11_25_04"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "plugin_reports",
        sa.Column("plugin", sa.Text().with_variant(sa.Text(collation="C"), "postgresql"), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("report", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("plugin", name="pk_plugin_reports"),
    )


def downgrade() -> None:
    """Drop the table; plugins are asked again at the next start."""
    op.drop_table("plugin_reports")
