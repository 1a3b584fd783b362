"""Present size: where an old size, or an old boot model, leads today."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import json_answer
from hooflast.api.operations import Operation, route
from hooflast.api.parameters import read_query, written_as
from hooflast.api.reading import boot_in
from hooflast.api.rest.boots import BOOT_ID
from hooflast.api.rest.pinning import CATALOG_RELEASE, pinned_release
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.availability import find_present, size_called
from hooflast.errors import NotFound
from hooflast.exchange.present_document import PresentDocument, present_document

SIZE: Final = written_as(
    r"[^ ](.{0,38}[^ ])?",
    name="size",
    meaning="The size's code; left out, the boot model as a whole is followed.",
    examples=(),
)
READ_PRESENT: Final = Operation(
    id="read_present_size",
    method="GET",
    path="/v1/boots/{boot_id}/present-size",
    tag="Catalog",
    summary="Lead an old size to its present one",
    description=(
        "Follows what took the place of a size, or of a whole boot model, up to what is in sale today. Charts change "
        "with new boot models: match the hoof before you order."
    ),
    path_parameters=(BOOT_ID,),
    query=(SIZE, CATALOG_RELEASE),
    gives=PresentDocument,
    meaning="Where it leads.",
    problems=(404, 410, 503),
    speaks=True,
)


@route(READ_PRESENT)
async def read_present_size(
    *, request: HttpRequest, boot_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """Where a size leads."""
    query = read_query(request.scope["query_string"], parameters=READ_PRESENT.query)
    release = await pinned_release(service, query)
    boot, code = boot_in(release, boot_id), query.get(SIZE)
    size = None if code is None else size_called(boot, code)
    if code is not None and size is None:
        raise NotFound(resource="size", name=f"{boot_id} {code}")
    day, texts = service.clock().date(), service.texts_for(request)
    present = find_present(release, boot=boot, size=size, day=day)
    document = present_document(present, release=release, day=day, texts=texts)
    headers = {"Content-Language": texts.language, "Vary": "Accept, Accept-Language"}
    return json_answer(document, headers=headers)
