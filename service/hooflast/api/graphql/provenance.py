"""Provenance: where each record of a catalog release came from, with what proves it."""

from dataclasses import dataclass
from typing import Annotated, Any, Final

import strawberry

from hooflast.api.graphql.connections import USUAL, After, Asked, First, PageFound, connection_type, page_found
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import LOOK_UP, WEIGHT
from hooflast.api.graphql.outputs import output_type
from hooflast.api.proving import proved_record, seal_of
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.values import CatalogRelease
from hooflast.exchange.provenance_document import (
    ProvedStatementDocument,
    RecordProvenanceDocument,
    SealDocument,
    proved_document,
)

_ASKED: Final = {WEIGHT: LOOK_UP}
_MEANING: Final = "All that is needed to verify one record alone: the record, its statement, the proof and the seal."

Kind = Annotated[RecordKind, strawberry.argument(description="What it is.")]
RecordId = Annotated[str, strawberry.argument(description="The REST id of the maker, boot model or accessory.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementsFound(PageFound):
    """A page of statements, with the seal that all of them lead to."""

    seal: SealDocument


def provenance_of(kind: RecordKind) -> Any:
    """The field of a node of that kind: where it came from, with what proves it."""

    async def resolve(root: Any, info: Info) -> RecordProvenanceDocument:
        return await _of_record(root.release, info, kind=kind, record_id=root.rest_id)

    return strawberry.field(
        resolver=resolve,
        graphql_type=output_type(RecordProvenanceDocument) | None,
        description=f"Where it came from, and what proves it. {_MEANING}",
        metadata=_ASKED,
    )


async def _of_one(root: Any, info: Info, *, kind: Kind, record_id: RecordId) -> RecordProvenanceDocument:
    return await _of_record(await _release(root, info), info, kind=kind, record_id=record_id)


async def _of_all(root: Any, info: Info, *, first: First = USUAL, after: After = None) -> StatementsFound:
    release = await _release(root, info)
    proved = await info.context.proved.load(release)
    statements = proved.tree.statements
    page = page_found(
        range(len(statements)),
        [f"{statement.kind}/{statement.id}" for statement in statements],
        asked=Asked(scope=f"releases/{release.id}/provenance", first=first, after=after),
        release=release.id,
        shape=lambda index: proved_document(proved.tree, index),
    )
    return StatementsFound(
        edges=page.edges,
        has_next_page=page.has_next_page,
        has_previous_page=page.has_previous_page,
        seal=seal_of(proved),
    )


async def _of_record(
    release: CatalogRelease, info: Info, *, kind: RecordKind, record_id: str
) -> RecordProvenanceDocument:
    return proved_record(await info.context.proved.load(release), release=release, kind=kind, record_id=record_id)


async def _release(root: Any, info: Info) -> CatalogRelease:
    return (await info.context.service.catalog.pinned(root.rest_id)).release


StatementConnection = connection_type(
    output_type(ProvedStatementDocument),
    name="ProvedStatement",
    also={
        "seal": strawberry.field(
            graphql_type=output_type(SealDocument),
            description="What was signed of the catalog release when it was published.",
        )
    },
)
PROVENANCE = strawberry.field(
    resolver=_of_all,
    graphql_type=StatementConnection | None,
    description="Where each of its records came from, ordered by kind and id, with a proof that leads to its seal.",
    metadata=_ASKED,
)
RECORD_PROVENANCE = strawberry.field(
    resolver=_of_one,
    graphql_type=output_type(RecordProvenanceDocument) | None,
    description=f"Where one of its records came from. {_MEANING}",
    metadata=_ASKED,
)
