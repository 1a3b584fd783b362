"""Provenance document: where the records of a catalog release came from, with what proves it, written down."""

from datetime import date
from typing import Annotated, Any

import msgspec
from msgspec import Meta

from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.provenance import ProvenanceTree, Record, RecordProof, Statement, write_record
from hooflast.exchange.answer_parts import Document
from hooflast.matching.seals import PublicKey, Sealed

HexDigest = Annotated[str, Meta(pattern="^[0-9a-f]{64}$", description="A SHA-256 in hexadecimal digits.")]


class StatementDocument(Document, frozen=True):
    """What one record says, by digest, and where it came from. Hashed in canonical form, with the names of REST."""

    kind: RecordKind
    id: str
    record_sha256: Annotated[
        str,
        Meta(
            pattern="^[0-9a-f]{64}$",
            description="The SHA-256 of the record in RFC 8785 canonical form, without where it came from.",
        ),
    ]
    plugin: Annotated[str, Meta(description="The catalog plugin it came through.")]
    plugin_version: Annotated[str, Meta(description="That plugin's version; empty: it was not noted.")]
    source: Annotated[str, Meta(description="The file, address or query.")]
    retrieved_on: date
    source_sha256: Annotated[str, Meta(description="The SHA-256 of what was fetched from the source.")]


class ProvedStatementDocument(Document, frozen=True):
    """A statement with its place in the tree (RFC 9162) and the digests that lead from there to the root."""

    index: Annotated[int, Meta(ge=0)]
    statement: StatementDocument
    proof: Annotated[list[HexDigest], Meta(max_length=40, description="From the leaf up.")]


class SealDocument(Document, frozen=True):
    """What was signed of the catalog release when it was published."""

    token: Annotated[
        str,
        Meta(
            description=(
                "A JSON Web Signature in compact form with Ed25519, to be verified with the keys at "
                "`/.well-known/jwks.json`. Its payload names the catalog release, the root and the size."
            )
        ),
    ]
    kid: Annotated[str, Meta(description="The key it was made with.")]
    root: HexDigest
    size: Annotated[int, Meta(ge=0, description="How many records were sealed.")]


class ProvenancePage(Document, frozen=True):
    """The records of a catalog release with where they came from, ordered by kind and id."""

    items: Annotated[list[ProvedStatementDocument], Meta(max_length=100)]
    next: Annotated[str | None, Meta(description="The address of the next page; null on the last one.")]
    seal: SealDocument
    catalog_release: Annotated[str, Meta(description="The catalog release, by its content.")]


class RecordProvenanceDocument(Document, frozen=True):
    """One record, where it came from, and all that is needed to verify it alone."""

    catalog_release: Annotated[str, Meta(description="The catalog release, by its content.")]
    seal: SealDocument
    index: Annotated[int, Meta(ge=0)]
    statement: StatementDocument
    proof: Annotated[list[HexDigest], Meta(max_length=40, description="From the leaf up.")]
    record: Annotated[dict[str, Any], Meta(description="The record, as it was hashed once put in canonical form.")]


class SealKeyDocument(Document, frozen=True):
    """A public key as a JSON Web Key (RFC 7517, RFC 8037)."""

    kty: str
    crv: str
    x: str
    kid: str
    use: str
    alg: str


class KeySetDocument(Document, frozen=True):
    """A JSON Web Key Set: all keys that catalog releases were sealed with, the newest first."""

    keys: list[SealKeyDocument]


def statement_document(statement: Statement) -> StatementDocument:
    """A statement as a document."""
    return StatementDocument(
        kind=statement.kind,
        id=statement.id,
        record_sha256=statement.record_sha256,
        plugin=statement.plugin,
        plugin_version=statement.plugin_version,
        source=statement.source,
        retrieved_on=statement.retrieved_on,
        source_sha256=statement.source_sha256,
    )


def proved_document(tree: ProvenanceTree, index: int) -> ProvedStatementDocument:
    """The statement at a place in the tree, with its proof."""
    proof = tree.proof(index)
    return ProvedStatementDocument(
        index=index, statement=statement_document(proof.statement), proof=[one.hex() for one in proof.path]
    )


def seal_document(token: str, *, kid: str, sealed: Sealed) -> SealDocument:
    """A seal as a document."""
    return SealDocument(token=token, kid=kid, root=sealed.root, size=sealed.size)


def record_document(
    proof: RecordProof, *, record: Record, seal: SealDocument, release: str
) -> RecordProvenanceDocument:
    """One record with all that proves it."""
    return RecordProvenanceDocument(
        catalog_release=release,
        seal=seal,
        index=proof.index,
        statement=statement_document(proof.statement),
        proof=[one.hex() for one in proof.path],
        record=msgspec.json.decode(write_record(record)),
    )


def key_set_document(keys: list[PublicKey]) -> KeySetDocument:
    """Public keys as a JSON Web Key Set."""
    return KeySetDocument(keys=[SealKeyDocument(**key.jwk) for key in keys])
