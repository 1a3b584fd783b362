"""Works: everything that is worked out from a form and not kept."""

from collections.abc import Callable
from typing import Any

from hooflast.access.key import Scope
from hooflast.api import works
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import MANY_HORSES, ONE_HORSE, declared
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.outputs import output_type
from hooflast.api.workplace import Work, worked_out


def _field(work: Work[Any, Any], *, weight: int, description: str) -> Any:
    return declared(
        _resolver(work), gives=output_type(work.gives), scope=Scope.MATCH, weight=weight, description=description
    )


def _resolver(work: Work[Any, Any]) -> Callable[..., Any]:
    async def resolve(info: Info, *, input: Any) -> Any:  # noqa: A002 (the argument's name)
        context = info.context
        return await worked_out(as_body(input), work=work, service=context.service, texts=context.texts)

    resolve.__annotations__ = {"info": Info, "input": input_type(work.form), "return": Any}
    return resolve


FIELDS = {
    "pads": _field(
        works.PADS,
        weight=ONE_HORSE,
        description=(
            "What a pad does to the size. Which pad a foot should have is for the veterinarian or hoof-care "
            "professional to say. Nothing is kept; REST draws the same at /v1/pads/picture.svg."
        ),
    ),
    "trim_cycle": _field(
        works.TRIM_CYCLE,
        weight=ONE_HORSE,
        description=(
            "A boot over the trim cycle: which size fits when, and when best to measure. Nothing is kept; REST draws "
            "the same at /v1/trim-cycles/chart.svg."
        ),
    ),
    "fitting_trial": _field(
        works.FITTING_TRIAL,
        weight=ONE_HORSE,
        description=(
            "Which size to try next, and when to stop. Nothing is kept: send all try-ons again with each new one. On "
            "a painful foot nothing is tried on."
        ),
    ),
    "order_plan": _field(
        works.ORDER_PLAN,
        weight=MANY_HORSES,
        description="What to buy for one horse, from what is on sale. Nothing is kept.",
    ),
    "trial_set": _field(
        works.TRIAL_SET,
        weight=MANY_HORSES,
        description=(
            "The sizes to carry for a herd: the smallest set, or the cheapest, that serves the wished share. Nothing "
            "is kept; REST draws its curve at /v1/trial-sets/curve.svg."
        ),
    ),
    "coverage": _field(
        works.COVERAGE,
        weight=MANY_HORSES,
        description=(
            "What sizes cover of a herd, and the gaps. Nothing is kept; REST draws the same at "
            "/v1/coverage/picture.svg."
        ),
    ),
    "calibration_proposal": _field(
        works.CALIBRATION,
        weight=MANY_HORSES,
        description="What outcomes of sold boots teach. Nothing is kept and nothing is switched on.",
    ),
    "release_effects": _field(
        works.RELEASE_EFFECTS,
        weight=MANY_HORSES,
        description="For which horses a newer catalog release answers otherwise. Nothing is kept.",
    ),
}
