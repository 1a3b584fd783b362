"""The table of match receipts: every answer as it was sent, with its question."""

from datetime import datetime

from sqlalchemy import ForeignKey, LargeBinary, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base, Moment


class MatchReceipt(Base):
    """One answer. The key begins with the tenant, and the id sorts by time: it is also the index that pages use.

    Question and answer are bytes, never JSONB, which would reorder keys: what is replayed is what was sent. The answer
    is `answer_head` followed by what `answer_packed` holds.
    """

    __tablename__ = "match_receipts"

    tenant_id: Mapped[str] = mapped_column(Text, ForeignKey("tenants.id"), primary_key=True)
    id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    created_at: Mapped[datetime] = mapped_column(Moment)
    catalog_release: Mapped[str] = mapped_column(Text)
    engine: Mapped[str] = mapped_column(Text)
    calibration: Mapped[str] = mapped_column(Text)
    question: Mapped[bytes] = mapped_column(LargeBinary)
    answer_head: Mapped[bytes] = mapped_column(LargeBinary)
    answer_packed: Mapped[bytes] = mapped_column(LargeBinary)
    signing_key_id: Mapped[str] = mapped_column(BYTEWISE, ForeignKey("signing_keys.kid"))
