"""The table of request counts: how many requests processes have taken from each limit, in its present window."""

from datetime import datetime

from sqlalchemy import Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class RequestCount(Base):
    """One count. `whom` is a key, one visitor of a key, or an address from which unknown keys come.

    The counts are the service's own and belong to no tenant.
    """

    __tablename__ = "request_counts"

    whom: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    limit_name: Mapped[str] = mapped_column(Text, primary_key=True)
    window_began: Mapped[datetime] = mapped_column(Moment, primary_key=True)
    window_ends: Mapped[datetime] = mapped_column(Moment, index=True)
    taken: Mapped[int] = mapped_column(Integer)
