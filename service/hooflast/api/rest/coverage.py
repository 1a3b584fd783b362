"""Coverage: what the sizes of a catalog cover of a herd, and the gaps."""

from dataclasses import replace
from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import COVERAGE
from hooflast.exchange.coverage_document import CoverageDocument
from hooflast.exchange.coverage_form import CoverageForm
from hooflast.matching.herd_pictures import coverage_picture

FIND_COVERAGE: Final = Operation(
    id="find_coverage",
    method="POST",
    path="/v1/coverage",
    tag="Herds",
    summary="Find what sizes cover of a herd, and the gaps",
    description=(
        "For each kind of animal, fore and hind: the share of the herd's hooves that some size in question accepts, "
        "by shape and size, and the gaps: where hooves are and no size is, with the size that comes nearest. Nothing "
        "is kept."
    ),
    takes=CoverageForm,
    gives=CoverageDocument,
    meaning="What is covered.",
    problems=(503,),
    speaks=True,
    body_times=4,
)
DRAW_COVERAGE: Final = Operation(
    id="draw_coverage",
    method="POST",
    path="/v1/coverage/picture.svg",
    tag="Herds",
    summary="Draw what sizes cover of a herd",
    description=(
        "The width-length plane of the kind of animal, fore or hind, with the most hooves of the herd: what is "
        "covered, where the hooves are, and the gaps by their numbers in `POST /v1/coverage`. `limbs` chooses fore or "
        "hind. 404 says that no hoof of the herd is left. Nothing is kept."
    ),
    takes=CoverageForm,
    gives="svg",
    meaning="The picture.",
    problems=(404, 503),
    speaks=True,
    body_times=4,
)


@route(FIND_COVERAGE)
async def find(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """What is covered of a herd."""
    return await work_out(
        request,
        service,
        operation=FIND_COVERAGE,
        work=COVERAGE,
    )


@route(DRAW_COVERAGE)
async def draw(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The plane of a herd."""
    return await work_out(
        request,
        service,
        operation=DRAW_COVERAGE,
        work=replace(COVERAGE, write=coverage_picture),
    )
