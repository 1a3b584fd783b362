"""Base: what every table has in common: the names of its constraints, and the types of its columns."""

from datetime import UTC, datetime
from typing import Final

from sqlalchemy import DateTime, Dialect, MetaData, Text
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator, TypeEngine

BYTEWISE: Final[TypeEngine[str]] = Text().with_variant(Text(collation="C"), "postgresql")
"""Text that sorts by its bytes on both databases, for ids that pages are cut by."""


class Moment(TypeDecorator[datetime]):
    """A moment with its zone, in UTC. SQLite keeps no zone, so it is taken off going in and put back coming out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"a moment without a time zone cannot be stored: {value.isoformat()}")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """The root of the table classes."""

    metadata = MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
        }
    )
