"""Secret: what a client writes to be known by: the id of its key, a random secret, and a check against mistyping.

    hooflast_<id: 32 hexadecimal digits>_<secret: 52 letters and digits><check: 7>

The secret is 256 random bits, so a plain SHA-256 of it is kept: there is nothing to guess that a slow hash would
protect. The check is the CRC-32 of what stands before it: it tells a key that was cut short from one that is unknown
without looking anything up, and lets a scanner of source code be sure of what it found.
"""

import re
import secrets
from base64 import b32encode
from binascii import crc32
from dataclasses import dataclass, field
from hashlib import sha256
from hmac import compare_digest
from typing import Final
from uuid import UUID

from hooflast.access.errors import KeyMalformed

_WRITTEN: Final = re.compile(
    r"(?P<checked>hooflast_(?P<id>[0-9a-f]{32})_(?P<secret>[a-z2-7]{52}))(?P<check>[a-z2-7]{7})"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Presented:
    """A key as it came with a request: which one it says it is, and the digest of its secret."""

    key_id: str
    digest: bytes = field(repr=False)

    def has(self, digest: bytes) -> bool:
        """Whether its secret has that digest, in a time that tells nothing."""
        return compare_digest(self.digest, digest)


def new_secret() -> str:
    """A secret nobody has seen."""
    return _letters(secrets.token_bytes(32))


def digest_of(secret: str) -> bytes:
    """What is kept of a secret."""
    return sha256(secret.encode("ascii")).digest()


def write_key(key_id: str, *, secret: str) -> str:
    """A key as its client writes it; `key_id` is a UUID."""
    checked = f"hooflast_{UUID(key_id).hex}_{secret}"
    return checked + _check(checked)


def read_key(written: str) -> Presented:
    """A key as it came. Raises KeyMalformed."""
    found = _WRITTEN.fullmatch(written)
    if found is None or found["check"] != _check(found["checked"]):
        raise KeyMalformed
    return Presented(key_id=str(UUID(found["id"])), digest=digest_of(found["secret"]))


def _check(text: str) -> str:
    return _letters(crc32(text.encode("ascii")).to_bytes(4, "big"))


def _letters(content: bytes) -> str:
    return b32encode(content).decode("ascii").rstrip("=").lower()
