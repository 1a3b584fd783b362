"""Seals: a signature over all records of a catalog release and where they came from, which anybody can verify.

A seal is a JSON Web Signature in compact form (RFC 7515) with Ed25519 (RFC 8037). Its payload names the catalog
release, the root of its provenance tree (`catalog.provenance`) and how many records that holds. The public keys are
published as a JSON Web Key Set (RFC 7517); a key's id is its thumbprint (RFC 7638, RFC 8037, appendix A.3).
"""

from base64 import urlsafe_b64encode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any, Final

import msgspec
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from jwt.api_jws import PyJWS
from jwt.exceptions import PyJWTError

from hooflast.catalog.provenance import ProvenanceTree, RecordProof, provenance_of
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.matching.errors import SealInvalid
from hooflast.store.seal_values import Seal, SealKey

ALGORITHM: Final = "EdDSA"
TYPE: Final = "hooflast-seal"

_jws: Final = PyJWS(algorithms=[ALGORITHM])


class Sealed(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a seal says. `root` is that of the provenance tree, in hexadecimal digits."""

    catalog_release: str
    root: str
    size: int
    iat: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicKey:
    """A key to verify seals with."""

    kid: str
    public: bytes

    @property
    def jwk(self) -> dict[str, str]:
        """As a JSON Web Key."""
        return {**_required(self.public), "kid": self.kid, "use": "sig", "alg": ALGORITHM}


def make_seal_key(*, now: datetime) -> SealKey:
    """A new key to seal with."""
    private = Ed25519PrivateKey.generate()
    return SealKey(
        kid=thumbprint(private.public_key().public_bytes_raw()), private=private.private_bytes_raw(), created_at=now
    )


def public_key_of(key: SealKey) -> PublicKey:
    """What may be told of a key."""
    public = Ed25519PrivateKey.from_private_bytes(key.private).public_key().public_bytes_raw()
    return PublicKey(kid=key.kid, public=public)


def thumbprint(public: bytes) -> str:
    """The id of a public key: the SHA-256 of its required members in canonical form (RFC 7638)."""
    return _base64url(sha256(rfc8785.dumps(_required(public))).digest())


def seal_release(release: CatalogRelease, *, digest: str, at: datetime, key: SealKey) -> Seal:
    """Seal a catalog release, of whose written form `digest` is the SHA-256."""
    tree = provenance_of(release)
    payload = msgspec.json.encode(
        Sealed(catalog_release=release.id, root=tree.root.hex(), size=len(tree.statements), iat=int(at.timestamp()))
    )
    private = Ed25519PrivateKey.from_private_bytes(key.private)
    token = _jws.encode(payload, private, algorithm=ALGORITHM, headers={"kid": key.kid, "typ": TYPE})
    return Seal(release=release.id, digest=digest, kid=key.kid, token=token)


def read_seal(token: str, *, release: ReleaseId, key_of: Callable[[str], PublicKey | None]) -> Sealed:
    """What a seal says of a catalog release. Raises SealInvalid unless it was made with one of the keys, for it."""
    try:
        header = _jws.get_unverified_header(token)
        key = key_of(str(header.get("kid", "")))
        if key is None or header.get("typ") != TYPE:
            raise SealInvalid(release=release, reason="no key of this service made it")
        public = Ed25519PublicKey.from_public_bytes(key.public)
        sealed = msgspec.json.decode(_jws.decode(token, public, algorithms=[ALGORITHM]), type=Sealed)
    except (PyJWTError, msgspec.DecodeError, ValueError) as error:
        raise SealInvalid(release=release, reason=f"its signature is not good: {error}") from error
    if sealed.catalog_release != release:
        raise SealInvalid(release=release, reason=f"it is of {sealed.catalog_release}")
    return sealed


def require_sealed(proof: RecordProof, *, by: Sealed, release: ReleaseId) -> None:
    """Raises SealInvalid unless a record's proof leads to what is sealed."""
    root = proof.root
    if root is None or proof.size != by.size or root.hex() != by.root:
        raise SealInvalid(release=release, reason=f"the record {proof.statement.id} is not among what was sealed")


def require_whole(tree: ProvenanceTree, *, by: Sealed, release: ReleaseId) -> None:
    """Raises SealInvalid unless all records together are what is sealed."""
    if len(tree.statements) != by.size or tree.root.hex() != by.root:
        raise SealInvalid(release=release, reason="its records are not those that were sealed")


def key_set(keys: "list[PublicKey]") -> dict[str, Any]:
    """A JSON Web Key Set."""
    return {"keys": [key.jwk for key in keys]}


def _required(public: bytes) -> dict[str, str]:
    return {"crv": "Ed25519", "kty": "OKP", "x": _base64url(public)}


def _base64url(content: bytes) -> str:
    return urlsafe_b64encode(content).rstrip(b"=").decode("ascii")
