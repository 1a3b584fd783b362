"""The table of seal keys: what catalog releases are sealed with."""

from datetime import datetime

from sqlalchemy import LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class SealKey(Base):
    """One private key of the service's own, shared by all its processes; no tenant gets to see it."""

    __tablename__ = "seal_keys"

    kid: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    private: Mapped[bytes] = mapped_column(LargeBinary)
    created_at: Mapped[datetime] = mapped_column(Moment)
    retired_at: Mapped[datetime | None] = mapped_column(Moment)
