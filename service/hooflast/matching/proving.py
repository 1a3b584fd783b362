"""Proving: the seal of a published catalog release read with this service's keys, and its records proved from it."""

import asyncio
from dataclasses import dataclass

from hooflast.catalog.provenance import ProvenanceTree, provenance_of
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import NotFound
from hooflast.matching.seals import PublicKey, Sealed, public_key_of, read_seal, require_whole
from hooflast.store import Store
from hooflast.store.seal_values import Seal


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """A catalog release whose records are those that were sealed."""

    seal: Seal
    sealed: Sealed
    tree: ProvenanceTree


async def prove(release: CatalogRelease, *, store: Store) -> Proved:
    """Verify a catalog release against its seal. Raises NotFound where it has none, SealInvalid, StoreError."""
    seal = await store.releases.seal(release.id)
    if seal is None:
        raise NotFound(resource="seal", name=release.id)
    keys = {key.kid: key for key in await public_keys(store)}
    sealed = read_seal(seal.token, release=release.id, key_of=keys.get)
    tree = await asyncio.to_thread(provenance_of, release)
    await asyncio.to_thread(require_whole, tree, by=sealed, release=release.id)
    return Proved(seal=seal, sealed=sealed, tree=tree)


async def public_keys(store: Store) -> list[PublicKey]:
    """Every key that seals were made with, the newest first."""
    return [public_key_of(key) for key in await store.seal_keys.all()]
