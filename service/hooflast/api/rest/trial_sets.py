"""Trial sets: the fewest sizes that serve a share of a herd, and the curve of share against number."""

from dataclasses import replace
from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import TRIAL_SET
from hooflast.exchange.trial_set_document import TrialSetDocument
from hooflast.exchange.trial_set_form import TrialSetForm
from hooflast.matching.herd_pictures import curve_picture

CHOOSE_TRIAL_SET: Final = Operation(
    id="choose_trial_set",
    method="POST",
    path="/v1/trial-sets",
    tag="Herds",
    summary="Choose the sizes to carry for a herd",
    description=(
        "Measured horses, or kinds that stand for them, in; out comes the smallest set of sizes, or the cheapest, that "
        "serves the wished share of them, and how the share grows with the number of sizes. Where the best is not "
        "proved, a bound says how far off it can be. A set of sizes is tried one after the other, on sound feet only: "
        "foals and horses with an acutely painful foot are left out. Nothing is kept."
    ),
    takes=TrialSetForm,
    gives=TrialSetDocument,
    meaning="The set and the curve.",
    problems=(503,),
    speaks=True,
    body_times=4,
)
DRAW_TRIAL_SET_CURVE: Final = Operation(
    id="draw_trial_set_curve",
    method="POST",
    path="/v1/trial-sets/curve.svg",
    tag="Herds",
    summary="Draw the share served against the number of sizes",
    description="The curve of `POST /v1/trial-sets`, drawn from the same form. Nothing is kept.",
    takes=TrialSetForm,
    gives="svg",
    meaning="The picture.",
    problems=(503,),
    speaks=True,
    body_times=4,
)


@route(CHOOSE_TRIAL_SET)
async def choose_set(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The set for a herd."""
    return await work_out(
        request,
        service,
        operation=CHOOSE_TRIAL_SET,
        work=TRIAL_SET,
    )


@route(DRAW_TRIAL_SET_CURVE)
async def draw_curve(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The curve of a herd."""
    return await work_out(
        request,
        service,
        operation=DRAW_TRIAL_SET_CURVE,
        work=replace(TRIAL_SET, write=curve_picture),
    )
