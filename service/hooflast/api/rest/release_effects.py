"""Release effects: which hooves a newer catalog release answers otherwise."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import Workplace, work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.effects_document import ReleaseEffectsDocument, effects_document
from hooflast.exchange.effects_form import EffectsQuestion, ReleaseEffectsForm, read_effects_question
from hooflast.matching.answering import Desk
from hooflast.matching.release_effects import EffectsAnswer, answer_effects
from hooflast.matching.shelf import Shelf

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
        read=read_effects_question,
        answer=_answer,
        write=effects_document,
    )


def _answer(question: EffectsQuestion, place: Workplace) -> EffectsAnswer:
    new = place.desk.shelf(question.catalog_release)
    old = _older(question.since, desk=place.desk, new=new)
    return answer_effects(question.horses, old=old, new=new, today=place.today, language=place.texts.language)


def _older(since: str | None, *, desk: Desk, new: Shelf) -> Shelf:
    """The older catalog release laid out. Raises InputRefused where there is none."""
    asked = since
    if asked is None:
        before = desk.catalog.before(new.release.id)
        if before is None:
            raise InputRefused(faults=(Fault(path=("since",), code="no-release-before", received=None),))
        asked = before
    try:
        return desk.shelf(asked)
    except InputRefused:
        fault = Fault(path=("since",), code="catalog-release-unknown", received=since)
        raise InputRefused(faults=(fault,)) from None
