"""Trial sets: the fewest sizes that serve a share of a herd, and the curve of share against number."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.operations import Operation, route
from hooflast.api.rest.working_out import Workplace, work_out
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange.trial_set_document import TrialSetDocument, trial_set_document
from hooflast.exchange.trial_set_form import TrialSetForm, read_trial_set_question
from hooflast.matching.herd_pictures import curve_picture
from hooflast.matching.trial_set_answer import TrialSetAnswer, TrialSetQuestion
from hooflast.matching.trial_sets import choose_trial_set

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
        read=read_trial_set_question,
        answer=_answer,
        write=trial_set_document,
    )


@route(DRAW_TRIAL_SET_CURVE)
async def draw_curve(request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The curve of a herd."""
    return await work_out(
        request,
        service,
        operation=DRAW_TRIAL_SET_CURVE,
        read=read_trial_set_question,
        answer=_answer,
        write=curve_picture,
    )


def _answer(question: TrialSetQuestion, place: Workplace) -> TrialSetAnswer:
    shelf = place.desk.shelf(question.herd.catalog_release)
    return choose_trial_set(question, shelf, today=place.today, language=place.texts.language)
