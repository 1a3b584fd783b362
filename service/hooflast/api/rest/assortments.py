"""Assortments: what a client sells: kept, changed by SKU, told with where each SKU leads in the catalog."""

import asyncio
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.access.key import Scope
from hooflast.api import kept_assortments as kept
from hooflast.api.answers import REVALIDATE, holds, json_answer
from hooflast.api.body import read_body
from hooflast.api.idempotency import once
from hooflast.api.negotiation import CSV, media_type_of
from hooflast.api.operations import Link, Operation, PathParameter, route
from hooflast.api.parameters import Query, read_query, written_as
from hooflast.api.preconditions import asked_revision, revision_tag
from hooflast.api.refusals import QueryRefused
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.assortment import Assortment, AssortmentHead
from hooflast.errors import Fault
from hooflast.exchange.assortment_document import (
    AssortmentDocument,
    AssortmentList,
    assortment_document,
    assortment_list,
)
from hooflast.exchange.assortment_form import (
    AssortmentForm,
    AssortmentPatchForm,
    read_assortment,
    read_assortment_csv,
    read_patch,
)
from hooflast.store import new_id

BODY_TIMES: Final = 64

TAG: Final = "Assortments"
ASSORTMENT_ID: Final = PathParameter(
    name="assortment_id", meaning="The assortment's id: a UUID.", schema={"type": "string", "format": "uuid"}
)
NAME: Final = written_as(
    r"[^\x00-\x1f\x7f]{1,80}", name="name", meaning="What you call it; for CSV alone.", examples=("Webshop",)
)
CURRENCY: Final = written_as(
    r"[A-Z]{3}", name="currency", meaning="The currency of all prices (ISO 4217); for CSV alone.", examples=("EUR",)
)
_ID_IN_ANSWER: Final = "$response.body#/id"
_PATH: Final = "/v1/assortments"
_AS_CSV: Final = (
    "As CSV, it is one SKU a row with the columns `sku`, `gtin`, `product`, `size`, `side`, `sold_as`, `price`, "
    "`stock` and `lead_days`, and name and currency stand in the query."
)

CREATE_ASSORTMENT: Final = Operation(
    id="create_assortment",
    method="POST",
    path=_PATH,
    tag=TAG,
    summary="Keep an assortment",
    description=(
        "What you sell, by SKU: each named by GTIN, or by boot model and size, with price and stock. The answer says "
        f"which SKUs lead to nothing in the catalog, and why. {_AS_CSV}"
    ),
    query=(NAME, CURRENCY),
    takes=AssortmentForm,
    takes_csv=True,
    body_times=BODY_TIMES,
    gives=AssortmentDocument,
    status=201,
    meaning="The assortment.",
    problems=(409, 422, 503),
    speaks=True,
    scope=Scope.ASSORTMENTS,
    is_made_once=True,
    has_revision=True,
    links=(
        Link(
            name="read",
            to="read_assortment",
            parameter="assortment_id",
            expression=_ID_IN_ANSWER,
            meaning="The assortment again.",
        ),
        Link(
            name="remove",
            to="remove_assortment",
            parameter="assortment_id",
            expression=_ID_IN_ANSWER,
            meaning="Removes it.",
        ),
    ),
)
LIST_ASSORTMENTS: Final = Operation(
    id="list_assortments",
    method="GET",
    path=_PATH,
    tag=TAG,
    summary="List your assortments",
    description="All of them, oldest first; there are 20 at most.",
    gives=AssortmentList,
    meaning="The assortments.",
    problems=(503,),
)
READ_ASSORTMENT: Final = Operation(
    id="read_assortment",
    method="GET",
    path=f"{_PATH}/{{assortment_id}}",
    tag=TAG,
    summary="Read an assortment",
    description="How much of it the active catalog release knows, and the first 100 SKUs that lead nowhere.",
    path_parameters=(ASSORTMENT_ID,),
    gives=AssortmentDocument,
    meaning="The assortment.",
    problems=(404, 503),
    revalidates=True,
    speaks=True,
)
REPLACE_ASSORTMENT: Final = Operation(
    id="replace_assortment",
    method="PUT",
    path=f"{_PATH}/{{assortment_id}}",
    tag=TAG,
    summary="Replace an assortment",
    description=f"The whole of it takes the place of what was. {_AS_CSV}",
    path_parameters=(ASSORTMENT_ID,),
    query=(NAME, CURRENCY),
    takes=AssortmentForm,
    takes_csv=True,
    body_times=BODY_TIMES,
    gives=AssortmentDocument,
    meaning="The assortment as it is now.",
    problems=(404, 422, 503),
    speaks=True,
    scope=Scope.ASSORTMENTS,
    has_revision=True,
)
CHANGE_ASSORTMENT: Final = Operation(
    id="change_assortment",
    method="PATCH",
    path=f"{_PATH}/{{assortment_id}}",
    tag=TAG,
    summary="Change an assortment by SKU",
    description=(
        "A JSON Merge Patch (RFC 7396): for each SKU what is different, null for one that is no longer sold. All of it "
        "is done, or nothing."
    ),
    path_parameters=(ASSORTMENT_ID,),
    takes=AssortmentPatchForm,
    body_times=BODY_TIMES,
    gives=AssortmentDocument,
    meaning="The assortment as it is now.",
    problems=(404, 422, 503),
    speaks=True,
    scope=Scope.ASSORTMENTS,
    has_revision=True,
)
REMOVE_ASSORTMENT: Final = Operation(
    id="remove_assortment",
    method="DELETE",
    path=f"{_PATH}/{{assortment_id}}",
    tag=TAG,
    summary="Remove an assortment",
    path_parameters=(ASSORTMENT_ID,),
    status=204,
    meaning="It is removed.",
    problems=(404, 503),
    scope=Scope.ASSORTMENTS,
    has_revision=True,
    links=(
        Link(
            name="read",
            to="read_assortment",
            parameter="assortment_id",
            expression="$request.path.assortment_id",
            meaning="From now on it is not found.",
        ),
    ),
)


@route(CREATE_ASSORTMENT)
async def create_assortment(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """What a client sells, kept."""
    query = read_query(request.scope["query_string"], parameters=CREATE_ASSORTMENT.query)
    raw = await _body(request, service)

    async def make() -> Response[bytes]:
        made = await _read(request, service, raw=raw, query=query, assortment_id=new_id())
        head = await kept.make_assortment(made, service=service, by=service.actor(request))
        location = f"{service.settings.public_url}{_PATH}/{head.id}"
        return await _told(request, service, head=head, status=201, headers={"Location": location})

    return await once(request, service, operation=CREATE_ASSORTMENT, body=raw, make=make)


@route(LIST_ASSORTMENTS)
async def list_assortments(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """All assortments of a client."""
    read_query(request.scope["query_string"], parameters=LIST_ASSORTMENTS.query)
    return json_answer(assortment_list(await service.store.assortments.all(tenant=service.tenant)))


@route(READ_ASSORTMENT)
async def read_one_assortment(
    *, request: HttpRequest, assortment_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """An assortment, and how much of it the catalog knows."""
    read_query(request.scope["query_string"], parameters=READ_ASSORTMENT.query)
    head = await service.store.assortments.head(kept.known_form(assortment_id), tenant=service.tenant)
    tag = _tag(head, service, language=service.texts_for(request).language)
    if holds(request.headers.get("if-none-match"), tag):
        return Response(b"", status_code=304, headers={"ETag": tag, "Cache-Control": REVALIDATE})
    return await _told(request, service, head=head)


@route(REPLACE_ASSORTMENT)
async def replace_assortment(
    *, request: HttpRequest, assortment_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """The whole of an assortment, in the place of what was."""
    query = read_query(request.scope["query_string"], parameters=REPLACE_ASSORTMENT.query)
    known, revision = kept.known_form(assortment_id), asked_revision(request)
    made = await _read(request, service, raw=await _body(request, service), query=query, assortment_id=known)
    head = await kept.replace_assortment(made, service=service, by=service.actor(request), revision=revision)
    return await _told(request, service, head=head)


@route(CHANGE_ASSORTMENT)
async def change_assortment(
    *, request: HttpRequest, assortment_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """What is different about some SKUs."""
    read_query(request.scope["query_string"], parameters=CHANGE_ASSORTMENT.query)
    known, revision = kept.known_form(assortment_id), asked_revision(request)
    raw = await _body(request, service)
    patch = await asyncio.to_thread(read_patch, raw, today=service.clock().date())
    head = await kept.change_assortment(known, patch, service=service, by=service.actor(request), revision=revision)
    return await _told(request, service, head=head)


@route(REMOVE_ASSORTMENT)
async def remove_assortment(
    *, request: HttpRequest, assortment_id: FromPath[str], service: NamedDependency[Service]
) -> Response[None]:
    """An assortment is removed with all that is in it."""
    read_query(request.scope["query_string"], parameters=REMOVE_ASSORTMENT.query)
    known, revision = kept.known_form(assortment_id), asked_revision(request)
    await kept.remove_assortment(known, service=service, by=service.actor(request), revision=revision)
    return Response(None)


async def _body(request: HttpRequest, service: Service) -> bytes:
    settings = service.settings
    return await read_body(request, limit=settings.max_body_bytes * BODY_TIMES, seconds=settings.request_seconds)


async def _read(request: HttpRequest, service: Service, *, raw: bytes, query: Query, assortment_id: str) -> Assortment:
    """The assortment that a body tells. Raises InputRefused, QueryRefused."""
    now = service.clock()
    is_csv = media_type_of(request) == CSV
    name, currency = query.get(NAME), query.get(CURRENCY)
    if not is_csv:
        told = {NAME.name: name, CURRENCY.name: currency}
        faults = [
            Fault(path=(parameter,), code="parameter-for-csv", received=value)
            for parameter, value in told.items()
            if value is not None
        ]
        if faults:
            raise QueryRefused(faults=tuple(faults))
        return await asyncio.to_thread(read_assortment, raw, assortment_id=assortment_id, now=now)
    if name is None or currency is None:
        missing = [NAME.name] * (name is None) + [CURRENCY.name] * (currency is None)
        raise QueryRefused(
            faults=tuple(Fault(path=(one,), code="parameter-missing-for-csv", received=None) for one in missing)
        )
    return await asyncio.to_thread(
        read_assortment_csv, raw, name=name, currency=currency, assortment_id=assortment_id, now=now
    )


async def _told(
    request: HttpRequest,
    service: Service,
    *,
    head: AssortmentHead,
    status: int = 200,
    headers: dict[str, str] | None = None,
) -> Response[bytes]:
    texts = service.texts_for(request)
    found = await kept.mapped(service, head.id)
    head = found.assortment.head
    document = assortment_document(head, found.places, release=found.release, texts=texts)
    told = json_answer(document, headers=headers)
    told.status_code = status
    told.headers |= {
        "ETag": _tag(head, service, language=texts.language),
        "Cache-Control": REVALIDATE,
        "Content-Language": texts.language,
        "Vary": "Accept, Accept-Language, Authorization",
    }
    return told


def _tag(head: AssortmentHead, service: Service, *, language: str) -> str:
    return revision_tag(head.revision, head.id, service.catalog.active.release.id, language)
