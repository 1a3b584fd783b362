"""Ids: UUIDs of version 7 (RFC 9562), which sort by the time they were made."""

import re
from typing import Final

from uuid_utils import uuid7

_WRITTEN: Final = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
"""RFC 9562, section 4 and 5.7: the version is 7, and the variant's two bits are 1 and 0."""


def new_id() -> str:
    """A new id in canonical text. Within one process, later ids sort after earlier ones."""
    made = str(uuid7())
    if not is_id(made):
        raise RuntimeError(f"uuid_utils made {made!r}, which is no UUID of version 7")
    return made


def is_id(text: str) -> bool:
    """Whether `text` is a UUID of version 7 in canonical text: small letters, with hyphens."""
    return _WRITTEN.fullmatch(text) is not None
