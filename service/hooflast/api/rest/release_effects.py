"""Release effects: which hooves a newer catalog release answers otherwise."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.api.works import RELEASE_EFFECTS
from hooflast.exchange.effects_document import ReleaseEffectsDocument
from hooflast.exchange.effects_form import ReleaseEffectsForm

WORK_OUT_EFFECTS: Final = Operation(
    id="work_out_release_effects",
    method="POST",
    path="/v1/release-effects",
    tag="Catalog",
    summary="See whom a catalog release changes something for",
    description=(
        "Horses in; out come those hooves for which the newer catalog release has another boot model first, or the "
        "boot model that was first in another size, with both answers. Nothing is kept."
    ),
    takes=ReleaseEffectsForm,
    body_times=4,
    gives=ReleaseEffectsDocument,
    meaning="The hooves that are answered otherwise.",
    problems=(410, 503),
    speaks=True,
)


@route(WORK_OUT_EFFECTS)
async def work_out_release_effects(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Some horses on two catalog releases."""
    return await work_out(
        request,
        service,
        operation=WORK_OUT_EFFECTS,
        work=RELEASE_EFFECTS,
    )
