"""The table of steps: what was done with catalog releases, by whom and when."""

from datetime import datetime

from sqlalchemy import ForeignKey, Integer, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class CatalogReleaseStep(Base):
    """One step that was taken. `number` counts all steps of all catalog releases, in their order."""

    __tablename__ = "catalog_release_steps"

    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    release_id: Mapped[str] = mapped_column(BYTEWISE, ForeignKey("catalog_releases.id"), index=True)
    step: Mapped[str] = mapped_column(Text)
    taken_by: Mapped[str] = mapped_column(Text)
    taken_at: Mapped[datetime] = mapped_column(Moment)
    note: Mapped[str] = mapped_column(Text)
    report: Mapped[bytes | None] = mapped_column(LargeBinary)
