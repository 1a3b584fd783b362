"""The table of catalog releases: each with its status. They are the service's own and belong to no tenant."""

from datetime import date

from sqlalchemy import CheckConstraint, Date, Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class CatalogRelease(Base):
    """One catalog release, with or without its content; `digest` is that of its written form.

    `makers`, `boots`, `sizes` and `accessories` are how many it holds.
    """

    __tablename__ = "catalog_releases"
    __table_args__ = (
        CheckConstraint("status IN ('staged', 'checked', 'published', 'withdrawn')", name="status_known"),
    )

    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    edition: Mapped[str] = mapped_column(Text)
    released_on: Mapped[date] = mapped_column(Date)
    note: Mapped[str] = mapped_column(Text)
    status: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(Text)
    written_bytes: Mapped[int] = mapped_column(Integer)
    makers: Mapped[int] = mapped_column(Integer)
    boots: Mapped[int] = mapped_column(Integer)
    sizes: Mapped[int] = mapped_column(Integer)
    accessories: Mapped[int] = mapped_column(Integer)
