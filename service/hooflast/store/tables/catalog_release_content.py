"""The table of catalog releases' contents: the canonical bytes of each, until it is purged."""

from sqlalchemy import ForeignKey, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class CatalogReleaseContent(Base):
    """One catalog release as it was written, packed (zlib). Apart from its status, which changes without it."""

    __tablename__ = "catalog_release_contents"

    release_id: Mapped[str] = mapped_column(BYTEWISE, ForeignKey("catalog_releases.id"), primary_key=True)
    packed: Mapped[bytes] = mapped_column(LargeBinary)
