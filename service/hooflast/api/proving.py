"""Proving: a catalog release verified against its seal, once for each seal, whichever way it is asked for."""

from typing import Final

from cachetools import LRUCache

from hooflast.api.service import Service
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.provenance import record_of
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import NotFound
from hooflast.exchange.provenance_document import (
    RecordProvenanceDocument,
    SealDocument,
    record_document,
    seal_document,
)
from hooflast.matching.proving import Proved, prove

_PROVED: Final[LRUCache[str, Proved]] = LRUCache(4)
"""By the seal's token: a seal and what it was made of never change."""


async def proved_release(release: CatalogRelease, *, service: Service) -> Proved:
    """A catalog release whose records are those that were sealed. Raises NotFound, SealInvalid, StoreError."""
    seal = await service.store.releases.seal(release.id)
    if seal is None:
        raise NotFound(resource="seal", name=release.id)
    if (known := _PROVED.get(seal.token)) is not None:
        return known
    async with service.working:
        proved = await prove(release, store=service.store)
    _PROVED[seal.token] = proved
    return proved


def seal_of(proved: Proved) -> SealDocument:
    """What was signed, as a document."""
    return seal_document(proved.seal.token, kid=proved.seal.kid, sealed=proved.sealed)


def proved_record(
    proved: Proved, *, release: CatalogRelease, kind: RecordKind, record_id: str
) -> RecordProvenanceDocument:
    """One record of a catalog release with all that proves it. Raises NotFound."""
    record = record_of(release, kind=kind, record_id=record_id)
    proof = proved.tree.proof_of(kind, record_id)
    return record_document(proof, record=record, seal=seal_of(proved), release=release.id)
