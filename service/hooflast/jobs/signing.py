"""Signing: the headers that tell who sent a message, and that nobody changed it (Standard Webhooks, 1.0.0).

    webhook-signature = "v1," + base64(HMAC-SHA256(secret, id + "." + timestamp + "." + body))

for each secret that is valid, parted by spaces, so that a secret can be renewed while both are in use.
"""

import hmac
from base64 import b64encode
from collections.abc import Sequence
from datetime import datetime
from typing import Final

SECRET_BYTES: Final = 32
"""As long as the hash; the standard asks for 24 to 64."""
PREFIX: Final = "whsec_"


def written_secret(secret: bytes) -> str:
    """A secret as clients get it."""
    return PREFIX + b64encode(secret).decode("ascii")


def signed_headers(body: bytes, *, message_id: str, at: datetime, secrets: Sequence[bytes]) -> dict[str, str]:
    """The headers of one attempt to send `body`. The id is that of the event, the moment that of the attempt."""
    if "." in message_id:
        raise ValueError(f"a full stop in {message_id!r} would make it ambiguous what was signed")
    timestamp = str(int(at.timestamp()))
    signed = b".".join((message_id.encode("ascii"), timestamp.encode("ascii"), body))
    return {
        "webhook-id": message_id,
        "webhook-timestamp": timestamp,
        "webhook-signature": " ".join(_signature(signed, secret) for secret in secrets),
    }


def _signature(signed: bytes, secret: bytes) -> str:
    return "v1," + b64encode(hmac.digest(secret, signed, "sha256")).decode("ascii")
