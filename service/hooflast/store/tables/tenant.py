"""The table of tenants: whom rows belong to."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import Base, Moment


class Tenant(Base):
    """One client of the service, who sees its own rows and nothing of another's.

    The empty text is no tenant: row-level security reads it as "none is set".
    """

    __tablename__ = "tenants"
    __table_args__ = (CheckConstraint("id <> ''", name="id_not_empty"),)

    id: Mapped[str] = mapped_column(Text, primary_key=True)
    created_at: Mapped[datetime] = mapped_column(Moment)
