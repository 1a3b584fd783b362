"""The table that says which catalog release is active: one row at most."""

from sqlalchemy import CheckConstraint, ForeignKey, Integer
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class ActiveCatalogRelease(Base):
    """The catalog release that is served where none is pinned, or none. `revision` only rises."""

    __tablename__ = "active_catalog_release"
    __table_args__ = (CheckConstraint("place = 1", name="one_row"),)

    place: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    release_id: Mapped[str | None] = mapped_column(BYTEWISE, ForeignKey("catalog_releases.id"))
    revision: Mapped[int] = mapped_column(Integer)
