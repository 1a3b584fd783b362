"""The table of assortment items: one row for each SKU of an assortment."""

from sqlalchemy import BigInteger, ForeignKeyConstraint, Integer, Text
from sqlalchemy.orm import Mapped, mapped_column

from hooflast.store.tables.base import BYTEWISE, Base


class AssortmentItem(Base):
    """One SKU: what it is by its client's account, and how it is sold. The catalog says what that leads to."""

    __tablename__ = "assortment_items"
    __table_args__ = (
        ForeignKeyConstraint(
            ["tenant_id", "assortment_id"],
            ["assortments.tenant_id", "assortments.id"],
            name="fk_assortment_items_tenant_id_assortments",
            ondelete="CASCADE",
        ),
    )

    tenant_id: Mapped[str] = mapped_column(Text, primary_key=True)
    assortment_id: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    sku: Mapped[str] = mapped_column(BYTEWISE, primary_key=True)
    gtin: Mapped[str | None] = mapped_column(Text)
    product: Mapped[str | None] = mapped_column(Text)
    size: Mapped[str | None] = mapped_column(Text)
    side: Mapped[str | None] = mapped_column(Text)
    sold_as: Mapped[str | None] = mapped_column(Text)
    price_minor: Mapped[int | None] = mapped_column(BigInteger)
    stock: Mapped[int | None] = mapped_column(Integer)
    lead_days: Mapped[int | None] = mapped_column(Integer)
