"""Provenance: where each record of a catalog release came from, signed, so that anybody can verify one alone."""

from dataclasses import replace
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import catalog_answer, json_answer
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link, page_of
from hooflast.api.parameters import read_query
from hooflast.api.proving import proved_record, proved_release, seal_of
from hooflast.api.rest.releases import RELEASE_ID
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.provenance import record_of
from hooflast.errors import NotFound
from hooflast.exchange.provenance_document import (
    KeySetDocument,
    ProvenancePage,
    RecordProvenanceDocument,
    key_set_document,
    proved_document,
)
from hooflast.matching.proving import public_keys

_KIND: Final = PathParameter(
    name="kind",
    meaning="What it is.",
    examples=(RecordKind.BOOT.value,),
    schema={"type": "string", "enum": [kind.value for kind in RecordKind]},
)
_RECORD_ID: Final = PathParameter(name="record_id", meaning="The id of the maker, boot model or accessory.")

LIST_PROVENANCE: Final = Operation(
    id="list_catalog_release_provenance",
    method="GET",
    path="/v1/catalog-releases/{release_id}/provenance",
    tag="Catalog",
    summary="List where the records of a catalog release came from",
    description=(
        "For each record: the plugin with its version, the source, the day it was fetched and the SHA-256 of what was "
        "fetched, with a proof that leads to what was signed when the catalog release was published."
    ),
    path_parameters=(RELEASE_ID,),
    query=(LIMIT, CURSOR),
    gives=ProvenancePage,
    meaning="A page of statements.",
    problems=(404, 410, 503),
    revalidates=True,
)
READ_PROVENANCE: Final = Operation(
    id="read_record_provenance",
    method="GET",
    path="/v1/catalog-releases/{release_id}/provenance/{kind}/{record_id}",
    tag="Catalog",
    summary="Read where one record came from, with what proves it",
    description="All that is needed to verify one record alone: the record, its statement, the proof and the seal.",
    path_parameters=(RELEASE_ID, _KIND, _RECORD_ID),
    gives=RecordProvenanceDocument,
    meaning="The record with its proof.",
    problems=(404, 410, 503),
    revalidates=True,
)
READ_KEYS: Final = Operation(
    id="read_seal_keys",
    method="GET",
    is_public=True,
    path="/.well-known/jwks.json",
    tag="Catalog",
    summary="Read the keys that catalog releases are sealed with",
    description="A JSON Web Key Set (RFC 7517). Keys that are no longer in use stay, for what was sealed with them.",
    gives=KeySetDocument,
    meaning="The public keys.",
    problems=(503,),
)


@route(LIST_PROVENANCE)
async def list_catalog_release_provenance(
    *, request: HttpRequest, release_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A page of statements."""
    query = read_query(request.scope["query_string"], parameters=LIST_PROVENANCE.query)
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    release = (await service.catalog.pinned(release_id)).release
    proved = await proved_release(release, service=service)
    statements = proved.tree.statements
    keys = [f"{statement.kind}/{statement.id}" for statement in statements]
    page = page_of(range(len(statements)), keys, query=query, cursor=cursor)
    if page.last is not None:
        address = next_link(path, query=query, scope=path, release=release.id, after=page.last)
        page = replace(page, next=service.settings.public_url + address)

    def shape() -> ProvenancePage:
        return ProvenancePage(
            items=[proved_document(proved.tree, index) for index in page.items],
            next=page.next,
            seal=seal_of(proved),
            catalog_release=release.id,
        )

    return catalog_answer(request, shape, release=proved.seal.token, query=query, next_page=page.next)


@route(READ_PROVENANCE)
async def read_record_provenance(
    *,
    request: HttpRequest,
    release_id: FromPath[str],
    kind: FromPath[str],
    record_id: FromPath[str],
    service: NamedDependency[Service],
) -> Response[bytes]:
    """One record with what proves it."""
    query = read_query(request.scope["query_string"], parameters=READ_PROVENANCE.query)
    if kind not in list(RecordKind):
        raise NotFound(resource="kind of record", name=kind)
    release = (await service.catalog.pinned(release_id)).release
    record_of(release, kind=RecordKind(kind), record_id=record_id)
    proved = await proved_release(release, service=service)

    def shape() -> RecordProvenanceDocument:
        return proved_record(proved, release=release, kind=RecordKind(kind), record_id=record_id)

    return catalog_answer(request, shape, release=proved.seal.token, query=query)


@route(READ_KEYS)
async def read_seal_keys(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The public keys."""
    read_query(request.scope["query_string"], parameters=READ_KEYS.query)
    return json_answer(key_set_document(await public_keys(service.store)))
