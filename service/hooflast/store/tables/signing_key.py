"""The table of signing keys: what match receipts are signed with."""

from datetime import datetime

from sqlalchemy import LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class SigningKey(Base):
    """One secret, shared by every process of the service.

    It has no tenant: the service signs, not a tenant, and a receipt is verified before anything is known of whose
    it is. No tenant ever gets to see a row of this table.
    """

    __tablename__ = "signing_keys"

    kid: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    secret: Mapped[bytes] = mapped_column(LargeBinary)
    created_at: Mapped[datetime] = mapped_column(Moment)
    retired_at: Mapped[datetime | None] = mapped_column(Moment)
