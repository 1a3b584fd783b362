"""Receipt: the signed reference to one answer, to be handed back when the boot was kept or returned.

A receipt is a JSON Web Signature in compact form (RFC 7515) with HMAC-SHA256 (RFC 7518, section 3.2). Its payload names
what learning needs to know of the answer: the readings with their uncertainty, the catalog release, the calibration and
the sizes shown. It can be verified without the answer, and survives the answer's erasure only in the holder's hands.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any, Final

import msgspec
from jwt.api_jws import PyJWS
from jwt.exceptions import PyJWTError
from jwt.utils import base64url_encode

from hooflast.errors import ReceiptInvalid
from hooflast.fit.hoof import Limb
from hooflast.matching.answer import BootFit, HoofAnswer, MatchAnswer
from hooflast.store.values import SigningKey, TenantId

ALGORITHM: Final = "HS256"
DECIMALS: Final = 3

_jws: Final = PyJWS(algorithms=[ALGORITHM])
_algorithm: Final = _jws.get_algorithm_by_name(ALGORITHM)


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchReceipt:
    """The id of an answer and the signed token that stands for it."""

    id: str
    token: str


def receipt_facts(answer: MatchAnswer, *, hooves: Sequence[bytes] | None = None) -> bytes:
    """What a receipt says of an answer, as JSON; of its `hooves`, where that has been found by `hoof_facts` before."""
    told = [hoof_facts(hoof) for hoof in answer.hooves] if hooves is None else hooves
    facts = {
        "catalog_release": answer.versions.catalog_release,
        "assortment": answer.versions.assortment,
        "engine": answer.versions.engine,
        "calibration": answer.versions.calibration,
        "animal_type": answer.question.animal_type,
        "hooves": [msgspec.Raw(hoof) for hoof in told],
    }
    return msgspec.json.encode(facts)


def sign_receipt(facts: bytes, *, receipt_id: str, tenant: TenantId, at: datetime, key: SigningKey) -> MatchReceipt:
    """Sign the facts of an answer (RFC 7515, section 5.1)."""
    about = msgspec.json.encode({"jti": receipt_id, "iat": int(at.timestamp()), "tenant": tenant})
    payload = about[:-1] + b"," + facts[1:]
    signed = _header(key.kid) + b"." + base64url_encode(payload)
    signature = base64url_encode(_algorithm.sign(signed, key.secret))
    return MatchReceipt(id=receipt_id, token=(signed + b"." + signature).decode("ascii"))


@lru_cache(maxsize=16)
def _header(kid: str) -> bytes:
    """The protected header of what a key signs, as it stands in front of every payload."""
    return base64url_encode(msgspec.json.encode({"alg": ALGORITHM, "kid": kid, "typ": "JWT"}))


def read_receipt(token: str, *, secret_of: Callable[[str], bytes | None]) -> dict[str, Any]:
    """The payload of a receipt signed here. `secret_of` finds a key's secret by its name. Raises ReceiptInvalid."""
    try:
        kid = _jws.get_unverified_header(token).get("kid", "")
        secret = secret_of(kid)
        if secret is None:
            raise ReceiptInvalid(receipt=token)
        payload: dict[str, Any] = msgspec.json.decode(_jws.decode(token, secret, algorithms=[ALGORITHM]))
    except (PyJWTError, msgspec.DecodeError) as error:
        raise ReceiptInvalid(receipt=token) from error
    return payload


def hoof_facts(hoof: HoofAnswer) -> bytes:
    """What a receipt says of one hoof, as JSON."""
    reading = hoof.reading
    facts = {
        "limb": reading.limb,
        "method": reading.method,
        "observer": reading.observer,
        "reading_mm": [round(axis.mean_mm, DECIMALS) for axis in (reading.width, reading.length)],
        "estimate_mm": [round(axis.mean_mm, DECIMALS) for axis in (hoof.width, hoof.length)],
        "uncertainty_mm": [round(axis.standard_uncertainty_mm, DECIMALS) for axis in (hoof.width, hoof.length)],
        "correlation": round(hoof.correlation, DECIMALS),
        "shown": [{"boot": fit.boot.id, "sizes": _sizes(fit)} for fit in hoof.boots],
    }
    return msgspec.json.encode(facts)


def shown_in(facts: bytes) -> tuple[Limb, dict[str, str]]:
    """The limb of a hoof's facts, and its boot models in their order, each with the size recommended."""
    told = msgspec.json.decode(facts, type=_Shown)
    return told.limb, {boot.boot: boot.sizes[0] for boot in told.shown}


class _ShownBoot(msgspec.Struct, frozen=True):
    boot: str
    sizes: list[str]


class _Shown(msgspec.Struct, frozen=True):
    """What a hoof's facts say of what was shown."""

    limb: Limb
    shown: list[_ShownBoot]


def _sizes(fit: BootFit) -> list[str]:
    """The size recommended first, then the neighbours shown with it."""
    return [fit.best.size.code, *(near.size.code for near in (fit.smaller, fit.larger) if near is not None)]
