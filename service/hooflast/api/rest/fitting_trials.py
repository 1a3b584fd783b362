"""Fitting trials: what to do next while a boot is being tried on."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import FITTING_TRIAL
from hooflast.exchange.fitting_document import FittingAnswerDocument
from hooflast.exchange.fitting_form import FittingForm

WORK_OUT_FITTING_TRIAL: Final = Operation(
    id="work_out_fitting_trial",
    method="POST",
    path="/v1/fitting-trials",
    tag="Trying on",
    summary="See which size to try next",
    description=(
        "One hoof, a boot model, and what was seen of every size tried so far; back comes what to do next: which size "
        "to try, when to stop, when to turn to another boot model and to which, with the try-ons still to expect. "
        "Nothing is kept: send all try-ons again with each new one. On a painful foot nothing is tried on."
    ),
    takes=FittingForm,
    gives=FittingAnswerDocument,
    meaning="What to do next.",
    problems=(503,),
    speaks=True,
)


@route(WORK_OUT_FITTING_TRIAL)
async def work_out_fitting_trial(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The next step of a fitting trial."""
    return await work_out(
        request,
        service,
        operation=WORK_OUT_FITTING_TRIAL,
        work=FITTING_TRIAL,
    )
