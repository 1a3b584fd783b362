"""The table of those who have, or had, hooks: the names of tenants alone, so that the service knows whom to tell."""

from sqlalchemy import ForeignKey, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import Base


class HookTenant(Base):
    """One tenant. Rows are the service's own: what a tenant is told stands where that tenant alone sees it."""

    __tablename__ = "hook_tenants"

    tenant: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
