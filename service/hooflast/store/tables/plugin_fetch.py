"""The table of plugin fetches: what came from each source of a catalog plugin the last time, for the next one."""

from sqlalchemy import LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class PluginFetch(Base):
    """One source of one plugin: the version it is known by, and its bytes, packed."""

    __tablename__ = "plugin_fetches"

    plugin: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    source: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    version: Mapped[str] = mapped_column(Text)
    packed: Mapped[bytes] = mapped_column(LargeBinary)
