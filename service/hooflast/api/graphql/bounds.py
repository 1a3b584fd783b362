"""Bounds: how many items the lists of documents hold at most, where the document does not say so itself [C].

They follow from what forms and catalog files may hold and what the engine tells. The tests say for each of them why.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from hooflast.api.problems import MOST_ERRORS
from hooflast.catalog import availability
from hooflast.catalog.comparing import MOST_RECORD_FIELDS, MOST_SIZE_FIELDS
from hooflast.exchange import herd_form
from hooflast.exchange.event_kinds import EventKind
from hooflast.exchange.form_fields import LONGEST_CYCLE_WEEKS, MOST_BOOTS, MOST_ON_CURVE
from hooflast.exchange.length_fields import MOST_REPEATS
from hooflast.exchange.outcome_form import MOST_OUTCOMES
from hooflast.exchange.trial_set_form import MOST_NAMED
from hooflast.fit.boot import Need, ShapeClass
from hooflast.fit.coverage import LEAST_GAP
from hooflast.fit.evidence import MOST_BINS
from hooflast.fit.findings import LAST_LOOK
from hooflast.fit.herd import HORSES_PER_KIND, LIMBS_DRAWN
from hooflast.fit.hoof import AnimalType, Limb, Method
from hooflast.fit.learned import Unclear
from hooflast.fit.outcome import Channel, Outcome, Side
from hooflast.matching import alternatives
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.needs import Feature
from hooflast.matching.plan_trades import MOST_STEPS
from hooflast.matching.shelf import MOST_ACCESSORIES
from hooflast.matching.troubleshooting import GUIDES, Trouble

BOUND: Final = "bound"
"""Under this name a field's metadata holds the bound of its list."""

PAGE: Final = "page"
"""Under this name it says that the list is a page, whose bound is its connection's `first`."""

REMARKS: Final = 100
"""Of cautions and remarks: more than there are kinds of either."""

FAULTS: Final = MOST_ERRORS
_HOOVES: Final = len(Limb)
_SIZES: Final = 200
_DRAWN: Final = herd_form.MOST_KINDS * HORSES_PER_KIND * len(LIMBS_DRAWN)

BY_ITEM: Final[Mapping[str, int]] = {
    "CautionDocument": REMARKS,
    "RemarkDocument": REMARKS,
    "FeatureDocument": len(Feature),
    "LeftOutDocument": len(LeftOutBecause),
    "NeedAdviceDocument": len(Need),
    "TroubleNameDocument": len(Trouble),
    "NamedNeedDocument": len(Need),
}
"""By what the list is of."""

BY_MEMBER: Final[Mapping[str, int]] = {
    "AxisReadingDocument.values_mm": MOST_REPEATS,
    "BootFitDocument.try_order": 3,
    "BootFitDocument.accessories": MOST_ACCESSORIES,
    "HoofAnswerDocument.boots": MOST_BOOTS,
    "HoofAnswerDocument.alternatives": alternatives.MOST,
    "MatchAnswerDocument.hooves": _HOOVES,
    "PadsAnswerDocument.hooves": _HOOVES,
    "HoofWithPadDocument.boots": MOST_BOOTS,
    "BootWithPadDocument.catalog_pads": MOST_ACCESSORIES,
    "CycleAnswerDocument.hooves": _HOOVES,
    "HoofInCycleDocument.sizes": 3,
    "HoofInCycleDocument.weeks": LONGEST_CYCLE_WEEKS + 1,
    "FittingAnswerDocument.sizes": _SIZES,
    "FittingAnswerDocument.exchanges": len(LAST_LOOK) - 1,
    "HorsePlanDocument.hooves": _HOOVES,
    "HorsePlanDocument.items": _HOOVES,
    "HorsePlanDocument.spares": _HOOVES,
    "FrontierStepDocument.boots": _HOOVES,
    "OrderPlanDocument.frontier": MOST_STEPS + 2,
    "OrderPlanDocument.unserved": _HOOVES,
    "OrderPlanDocument.readings": _HOOVES,
    "TrialSetDocument.sizes": MOST_NAMED + max(_DRAWN, herd_form.MOST_HORSES * _HOOVES),
    "TrialSetDocument.curve": MOST_ON_CURVE + 1,
    "CurvePointDocument.sizes": MOST_NAMED,
    "CoverageDocument.planes": 2 * len(AnimalType),
    "PlaneDocument.regions": 3 * len(ShapeClass),
    "PlaneDocument.gaps": round(1 / LEAST_GAP),
    "CalibrationProposalDocument.outcomes": len(Outcome),
    "CalibrationProposalDocument.boots": MOST_OUTCOMES,
    "CalibrationProposalDocument.readings": len(Method) * len(Channel),
    "CalibrationProposalDocument.keeping": len(Side),
    "BootOffsetDocument.unclear": len(Unclear),
    "BootOffsetDocument.sizes": _SIZES,
    "ReliabilityDocument.bins": MOST_BINS,
    "PresentDocument.steps": availability.MOST_STEPS,
    "RecordChangeDocument.fields": MOST_RECORD_FIELDS,
    "SizeChangeDocument.fields": MOST_SIZE_FIELDS,
    "TroubleDocument.causes": max(len(guide.causes) for guide in GUIDES),
    "HookDocument.events": len(EventKind),
    "JobResultDocument.faults": FAULTS,
    "HookWithSecretDocument.events": len(EventKind),
}
"""By the document and its member."""


def bound_of(document: type, member: str, *, item: Any) -> int | None:
    """How many items a list of a document holds at most; None where nobody has said, which the tests refuse."""
    own = BY_MEMBER.get(f"{document.__name__}.{member}")
    if own is not None:
        return own
    if isinstance(item, type) and issubclass(item, StrEnum):
        return len(item)
    return BY_ITEM.get(getattr(item, "__name__", ""))
