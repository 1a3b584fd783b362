"""Catalog releases: their status, content, steps, and which one is active. They are the service's own."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_04"
down_revision = "2026_11_25_03"


def upgrade() -> None:
    """Make the tables."""
    bytewise = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "catalog_releases",
        sa.Column("id", bytewise, nullable=False),
        sa.Column("edition", sa.Text(), nullable=False),
        sa.Column("released_on", sa.Date(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("written_bytes", sa.Integer(), nullable=False),
        sa.Column("makers", sa.Integer(), nullable=False),
        sa.Column("boots", sa.Integer(), nullable=False),
        sa.Column("sizes", sa.Integer(), nullable=False),
        sa.Column("accessories", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_catalog_releases"),
        sa.CheckConstraint(
            "status IN ('staged', 'checked', 'published', 'withdrawn')", name="ck_catalog_releases_status_known"
        ),
    )
    op.create_table(
        "catalog_release_contents",
        sa.Column("release_id", bytewise, nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("release_id", name="pk_catalog_release_contents"),
        sa.ForeignKeyConstraint(
            ["release_id"], ["catalog_releases.id"], name="fk_catalog_release_contents_release_id_catalog_releases"
        ),
    )
    op.create_table(
        "catalog_release_steps",
        sa.Column("number", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("release_id", bytewise, nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("taken_by", sa.Text(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("report", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("number", name="pk_catalog_release_steps"),
        sa.ForeignKeyConstraint(
            ["release_id"], ["catalog_releases.id"], name="fk_catalog_release_steps_release_id_catalog_releases"
        ),
    )
    op.create_index("ix_catalog_release_steps_release_id", "catalog_release_steps", ["release_id"])
    op.create_table(
        "active_catalog_release",
        sa.Column("place", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("release_id", bytewise, nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("place", name="pk_active_catalog_release"),
        sa.CheckConstraint("place = 1", name="ck_active_catalog_release_one_row"),
        sa.ForeignKeyConstraint(
            ["release_id"], ["catalog_releases.id"], name="fk_active_catalog_release_release_id_catalog_releases"
        ),
    )


def downgrade() -> None:
    """Drop the tables; kept catalog releases, and what is known of their lives, are lost."""
    op.drop_table("active_catalog_release")
    op.drop_table("catalog_release_steps")
    op.drop_table("catalog_release_contents")
    op.drop_table("catalog_releases")
