"""The table of plugin reports: what became of each catalog plugin the last time it was asked."""

from datetime import datetime

from sqlalchemy import LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class PluginReport(Base):
    """One plugin, by the name of its entry point. Reports are the service's own and belong to no tenant."""

    __tablename__ = "plugin_reports"

    plugin: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    asked_at: Mapped[datetime] = mapped_column(Moment)
    report: Mapped[bytes] = mapped_column(LargeBinary)
