"""The table of assortments: what clients sell, as they told it last."""

from datetime import datetime

from sqlalchemy import ForeignKey, Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class Assortment(Base):
    """One assortment. `revision` rises with every change; `as_of` is when prices and stock were so."""

    __tablename__ = "assortments"

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    currency: Mapped[str] = mapped_column(Text)
    revision: Mapped[int] = mapped_column(Integer)
    created_at: Mapped[datetime] = mapped_column(Moment)
    as_of: Mapped[datetime] = mapped_column(Moment)
