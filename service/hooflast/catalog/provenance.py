"""Provenance: for every record of a catalog release a statement of what it says and where it came from, and their tree.

A statement names a record, the SHA-256 of its content in RFC 8785 canonical form (without its provenance), and the
plugin, version, source, day and digest of the source it came from. Statements are in canonical form, ordered by kind
and id, and the leaves of a hash tree (`hash_tree`); whoever signs its root has signed each of them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from hashlib import sha256
from typing import Any, Final

from hooflast.catalog.canonical import canonical
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.hash_tree import leaf_digest, levels_of, proof_of, root_from, root_of
from hooflast.catalog.values import Accessory, BootModel, CatalogRelease, Maker
from hooflast.errors import NotFound

FIELDS_OF_KIND: Final = {RecordKind.MAKER: "makers", RecordKind.BOOT: "boots", RecordKind.ACCESSORY: "accessories"}
_PROVENANCE: Final = frozenset({"provenance"})

Record = Maker | BootModel | Accessory


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """What one record of a catalog release says, by digest, and where it came from."""

    kind: RecordKind
    id: str
    record_sha256: str
    plugin: str
    plugin_version: str
    source: str
    retrieved_on: date
    source_sha256: str

    @property
    def written(self) -> bytes:
        """The statement in canonical form: what is hashed. All its members are always there."""
        return canonical(
            {
                "kind": self.kind.value,
                "id": self.id,
                "record_sha256": self.record_sha256,
                "plugin": self.plugin,
                "plugin_version": self.plugin_version,
                "source": self.source,
                "retrieved_on": self.retrieved_on,
                "source_sha256": self.source_sha256,
            }
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordProof:
    """One statement with the digests that lead from it to the root of its catalog release."""

    statement: Statement
    index: int
    size: int
    path: tuple[bytes, ...]

    @property
    def root(self) -> bytes | None:
        """The root that it leads to; None if it is no proof."""
        return root_from(leaf_digest(self.statement.written), index=self.index, size=self.size, proof=self.path)


@dataclass(frozen=True, kw_only=True)
class ProvenanceTree:
    """The statements of a catalog release, ordered by kind and id, and their tree."""

    statements: tuple[Statement, ...]

    @cached_property
    def levels(self) -> Sequence[Sequence[bytes]]:
        """All digests of the tree."""
        return levels_of([leaf_digest(statement.written) for statement in self.statements])

    @cached_property
    def places(self) -> Mapping[tuple[RecordKind, str], int]:
        """Where the statement of each record stands."""
        return {(statement.kind, statement.id): place for place, statement in enumerate(self.statements)}

    @property
    def root(self) -> bytes:
        """The digest over all statements."""
        return self.levels[-1][0] if self.levels else root_of(())

    def proof(self, index: int) -> RecordProof:
        """The proof of the statement at a place."""
        return RecordProof(
            statement=self.statements[index],
            index=index,
            size=len(self.statements),
            path=proof_of(self.levels, index=index),
        )

    def proof_of(self, kind: RecordKind, record_id: str) -> RecordProof:
        """The proof of a record. Raises NotFound."""
        index = self.places.get((kind, record_id))
        if index is None:
            raise NotFound(resource="record", name=record_id)
        return self.proof(index)


def provenance_of(release: CatalogRelease) -> ProvenanceTree:
    """The statements of a catalog release."""
    return ProvenanceTree(
        statements=tuple(
            state(kind, record)
            for kind in sorted(FIELDS_OF_KIND)
            for _, record in sorted(getattr(release, FIELDS_OF_KIND[kind]).items())
        )
    )


def state(kind: RecordKind, record: Record) -> Statement:
    """The statement of one record."""
    came_from = record.provenance
    return Statement(
        kind=kind,
        id=record.id,
        record_sha256=sha256(write_record(record)).hexdigest(),
        plugin=came_from.plugin,
        plugin_version=came_from.version,
        source=came_from.source,
        retrieved_on=came_from.retrieved_on,
        source_sha256=came_from.sha256,
    )


def write_record(record: Record) -> bytes:
    """A record's content in canonical form, without where it came from."""
    return canonical(record, leave_out=_PROVENANCE)


def record_of(release: CatalogRelease, *, kind: RecordKind, record_id: str) -> Record:
    """A record of a catalog release. Raises NotFound."""
    records: dict[str, Any] = getattr(release, FIELDS_OF_KIND[kind])
    if record_id not in records:
        raise NotFound(resource="record", name=record_id)
    record: Record = records[record_id]
    return record
