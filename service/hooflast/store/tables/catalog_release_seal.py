"""The table of seals: what the service signed of each catalog release when it was published."""

from sqlalchemy import ForeignKey, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class CatalogReleaseSeal(Base):
    """The last seal of one catalog release."""

    __tablename__ = "catalog_release_seals"

    release_id: Mapped[str] = mapped_column(BYTEWISE, ForeignKey("catalog_releases.id"), primary_key=True)
    digest: Mapped[str] = mapped_column(Text)
    kid: Mapped[str] = mapped_column(BYTEWISE, ForeignKey("seal_keys.kid"))
    token: Mapped[str] = mapped_column(Text)
