"""Order plans: what to buy for one horse, from what is on sale."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import ORDER_PLAN
from hooflast.exchange.order_plan_document import OrderPlanDocument
from hooflast.exchange.order_plan_form import OrderPlanForm

PLAN_ORDER: Final = Operation(
    id="plan_order",
    method="POST",
    path="/v1/order-plans",
    tag="Matching",
    summary="Plan what to buy for one horse",
    description=(
        "Measurements of one to four hooves and what is on sale in; one boot model for the fores and one for the hinds "
        "out, with a size for each hoof, what to buy in singles and pairs, the runner-up and what it gains and costs. "
        "Every plan that stock and budget allow is compared. Nothing is kept."
    ),
    takes=OrderPlanForm,
    body_times=16,
    gives=OrderPlanDocument,
    meaning="The plan.",
    problems=(503,),
    speaks=True,
)


@route(PLAN_ORDER)
async def plan_order(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """One horse and what is on sale in, a plan out."""
    return await work_out(
        request,
        service,
        operation=PLAN_ORDER,
        work=ORDER_PLAN,
    )
