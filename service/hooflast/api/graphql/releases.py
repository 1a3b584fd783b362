"""Releases: the catalog releases this service holds, and what changed from one to another."""

from dataclasses import dataclass
from typing import Annotated, Any

import strawberry

from hooflast.api.documents import CatalogReleaseDocument
from hooflast.api.graphql.bounds import BOUND
from hooflast.api.graphql.catalog import Id
from hooflast.api.graphql.connections import USUAL, After, Asked, First, PageFound, connection_type, page_found
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import COMPARISON, WEIGHT, declared
from hooflast.api.graphql.nodes import Found, Node, NodeId, id_of, node_from
from hooflast.api.graphql.outputs import output_type
from hooflast.api.graphql.provenance import PROVENANCE, RECORD_PROVENANCE
from hooflast.api.reading import published_in
from hooflast.api.release_comparing import compared
from hooflast.api.shaping import release_document
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.lifecycle import KeptRelease
from hooflast.exchange.changes_document import (
    CountsDocument,
    RecordChangeDocument,
    change_document,
    counts_documents,
)

RELEASE = "CatalogRelease"

Since = Annotated[
    str | None,
    strawberry.argument(description="The REST id of the catalog release to compare with; left out, the one before."),
]


def _release_found(release: KeptRelease, info: Info) -> Found:
    document = release_document(release, active=info.context.service.catalog.active.release.id)
    return Found(kind=RELEASE, rest_id=release.id, document=document)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangesFound(PageFound):
    """A page of changes, with how much changed in all."""

    counts: list[CountsDocument]
    since: str | None


async def _changes(
    root: Any, info: Info, *, first: First = USUAL, after: After = None, since: Since = None
) -> ChangesFound:
    found = await compared(info.context.service, root.rest_id, since=since)
    asked = Asked(scope=f"releases/{found.release}/changes", first=first, after=after, filters={"since": found.since})
    page = page_found(found.changes.records, found.keys, asked=asked, release=found.release, shape=change_document)
    return ChangesFound(
        edges=page.edges,
        has_next_page=page.has_next_page,
        has_previous_page=page.has_previous_page,
        counts=counts_documents(found.changes),
        since=found.since,
    )


ChangeConnection = connection_type(
    output_type(RecordChangeDocument),
    name="RecordChange",
    also={
        "counts": strawberry.field(
            graphql_type=list[output_type(CountsDocument)],  # type: ignore[misc]
            description=f"How much changed in all, one line a kind. At most {len(RecordKind)}.",
            metadata={BOUND: len(RecordKind)},
        ),
        "since": strawberry.field(
            graphql_type=str | None, description="What it was compared with; null: there is none before it."
        ),
    },
)


@node_from(CatalogReleaseDocument, kind=RELEASE)
class ReleaseNode(Node):
    """An immutable edition of the catalog."""

    changes = strawberry.field(
        resolver=_changes,
        graphql_type=ChangeConnection,
        description="Makers, boot models and accessories that were added, removed, renamed or changed.",
        metadata={WEIGHT: COMPARISON},
    )
    provenance = PROVENANCE
    record_provenance = RECORD_PROVENANCE


ReleaseConnection = connection_type(ReleaseNode, name="CatalogRelease")


async def _releases(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    published, active = info.context.service.catalog.published, info.context.service.catalog.active.release
    return page_found(
        published,
        [release.id for release in published],
        asked=Asked(scope="releases", first=first, after=after),
        release=active.id,
        shape=lambda release: _release_found(release, info),
    )


async def find_release(info: Info, node: NodeId) -> Found:
    """The catalog release that a node's id means. Raises NotFound."""
    return _release_found(published_in(info.context.service.catalog.published, node.rest_id), info)


async def _release(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    return await find_release(info, id_of(id, kind=RELEASE, resource="catalog release"))


FIELDS = {
    "catalog_releases": declared(_releases, gives=ReleaseConnection, description="Catalog releases, newest first."),
    "catalog_release": declared(_release, gives=ReleaseNode, description="One catalog release."),
}
FINDERS = {RELEASE: find_release}
