"""Trim cycles: which size holds over the weeks between two trims, how long, and what to do; and the same drawn."""

from dataclasses import replace
from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import TRIM_CYCLE
from hooflast.exchange.cycle_document import CycleAnswerDocument
from hooflast.exchange.cycle_form import CycleForm
from hooflast.matching.cycle_picture import cycle_picture

WORK_OUT_TRIM_CYCLE: Final = Operation(
    id="work_out_trim_cycle",
    method="POST",
    path="/v1/trim-cycles",
    tag="Trim cycle",
    summary="Look at a boot over the trim cycle",
    description=(
        "The hooves as measured, just after the next trim and at the end of the cycle: which size fits at all of "
        "these moments, with what chance, in which week it turns tight or loose, and when best to measure. With three "
        "or more earlier readings of a hoof its own growth and trim are learned from them. Nothing is kept."
    ),
    takes=CycleForm,
    gives=CycleAnswerDocument,
    meaning="The hooves over their cycle.",
    problems=(503,),
    speaks=True,
)
DRAW_TRIM_CYCLE: Final = Operation(
    id="draw_trim_cycle",
    method="POST",
    path="/v1/trim-cycles/chart.svg",
    tag="Trim cycle",
    summary="Draw a boot over the trim cycle",
    description=(
        "Width and length of each hoof over two cycles with their uncertainty, and the range of the size looked at "
        "with what its closure gives. The form is that of `POST /v1/trim-cycles`, and so are the numbers."
    ),
    takes=CycleForm,
    gives="svg",
    meaning="The picture.",
    problems=(503,),
    speaks=True,
)


@route(WORK_OUT_TRIM_CYCLE)
async def work_out_trim_cycle(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The hooves over their cycle."""
    return await work_out(
        request,
        service,
        operation=WORK_OUT_TRIM_CYCLE,
        work=TRIM_CYCLE,
    )


@route(DRAW_TRIM_CYCLE)
async def draw_trim_cycle(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The same drawn."""
    return await work_out(
        request,
        service,
        operation=DRAW_TRIM_CYCLE,
        work=replace(TRIM_CYCLE, write=cycle_picture),
    )
