"""Ids: UUIDs of version 7 (RFC 9562), which sort by the time they were made."""

from uuid import UUID

from uuid_utils import uuid7


def new_id() -> str:
    """A new id in canonical text. Within one process, later ids sort after earlier ones."""
    made = str(uuid7())
    if not is_id(made):
        raise RuntimeError(f"uuid_utils made {made!r}, which is no UUID of version 7")
    return made


def is_id(text: str) -> bool:
    """Whether `text` is a UUID of version 7 in canonical text: small letters, with hyphens."""
    try:
        read = UUID(text)
    except ValueError:
        return False
    return read.version == 7 and str(read) == text
