"""The table of hooks: the addresses at which tenants are told of what happens."""

from datetime import datetime

from sqlalchemy import ForeignKey, Integer, LargeBinary, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class Hook(Base):
    """One address, with the kinds of events it wants, parted by spaces, and the secrets that sign them.

    Secrets are kept as they are, since signing needs them. `told_to` is the number of the last step of a catalog
    release that the hook has its deliveries of, `told_of_jobs_to` that of the last end of a match job.
    """

    __tablename__ = "hooks"

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    url: Mapped[str] = mapped_column(Text)
    events: Mapped[str] = mapped_column(Text)
    secret: Mapped[bytes] = mapped_column(LargeBinary)
    former_secret: Mapped[bytes | None] = mapped_column(LargeBinary)
    former_until: Mapped[datetime | None] = mapped_column(Moment)
    told_to: Mapped[int] = mapped_column(Integer)
    created_at: Mapped[datetime] = mapped_column(Moment)
    disabled_at: Mapped[datetime | None] = mapped_column(Moment)
    disabled_why: Mapped[str | None] = mapped_column(Text)
    told_of_jobs_to: Mapped[int] = mapped_column(Integer, server_default=text("0"))
