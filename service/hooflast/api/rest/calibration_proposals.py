"""Calibration proposals: outcomes of sold boots in, what they teach out. Nothing is kept and nothing switched on."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import CALIBRATION
from hooflast.exchange.outcome_form import OutcomesForm
from hooflast.exchange.proposal_document import CalibrationProposalDocument

PROPOSE_CALIBRATION: Final = Operation(
    id="propose_calibration",
    method="POST",
    path="/v1/calibration-proposals",
    tag="Learning",
    summary="Learn from outcomes",
    description=(
        "Boots that were sold, each with the hoof it was for, the size that was taken and what became of it; for each "
        "boot model how much larger a hoof its sizes take than the chart says, how far outcomes tell it, and whether "
        "that is over the evidence bar. Nothing is kept and nothing is switched on. Expect small gains."
    ),
    takes=OutcomesForm,
    body_times=16,
    gives=CalibrationProposalDocument,
    meaning="What the outcomes teach.",
    problems=(503,),
    speaks=True,
)


@route(PROPOSE_CALIBRATION)
async def propose(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Outcomes in, what they teach out."""
    return await work_out(
        request,
        service,
        operation=PROPOSE_CALIBRATION,
        work=CALIBRATION,
    )
