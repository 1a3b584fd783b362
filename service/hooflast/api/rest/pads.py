"""Pads: what a pad does to the size of a horse's boots; and the same drawn."""

from dataclasses import replace
from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import PADS
from hooflast.exchange.pads_document import PadsAnswerDocument
from hooflast.exchange.pads_form import PadsForm
from hooflast.matching.pads_picture import pads_picture

WORK_OUT_PADS: Final = Operation(
    id="work_out_pads",
    method="POST",
    path="/v1/pads",
    tag="Pads",
    summary="See what a pad does to the size",
    description=(
        "For each hoof the room that the pad takes, the best size of each boot model without it and with it, how thick "
        "a pad may be for the size to stay and for the boot model to serve, and the pads of the catalog that go along. "
        "Which pad a foot should have is for the veterinarian or hoof-care professional to say. Nothing is kept."
    ),
    takes=PadsForm,
    gives=PadsAnswerDocument,
    meaning="What the pad does.",
    problems=(503,),
    speaks=True,
)

DRAW_PADS: Final = Operation(
    id="draw_pads",
    method="POST",
    path="/v1/pads/picture.svg",
    tag="Pads",
    summary="Draw what a pad does",
    description=(
        "Each hoof lifted by the pad in a boot with leaning walls, from behind and from the side, with the room lost. "
        "The form is that of `POST /v1/pads`, and so are the numbers."
    ),
    takes=PadsForm,
    gives="svg",
    meaning="The picture.",
    problems=(503,),
    speaks=True,
)


@route(WORK_OUT_PADS)
async def work_out_pads(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Every hoof of one horse with the asked pad."""
    return await work_out(
        request,
        service,
        operation=WORK_OUT_PADS,
        work=PADS,
    )


@route(DRAW_PADS)
async def draw_pads(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The same drawn."""
    return await work_out(
        request,
        service,
        operation=DRAW_PADS,
        work=replace(PADS, write=pads_picture),
    )
