"""Bounds: how many items the lists of documents hold at most, where the document does not say so itself [C].

The bounds follow from those of the forms and of the catalog; the tests hold every answer against them.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from hooflast.api.problems import MOST_ERRORS

BOUND: Final = "bound"
"""Under this name a field's metadata holds the bound of its list."""

PAGE: Final = "page"
"""Under this name it says that the list is a page, whose bound is its connection's `first`."""

REMARKS: Final = 100
FAULTS: Final = MOST_ERRORS
_HOOVES: Final = 4
_SIZES: Final = 400
_BOOTS_SHOWN: Final = 20
_OUTCOMES: Final = 2_000

BY_ITEM: Final[Mapping[str, int]] = {
    "CautionDocument": REMARKS,
    "RemarkDocument": REMARKS,
    "FeatureDocument": REMARKS,
    "LeftOutDocument": REMARKS,
    "NeedAdviceDocument": REMARKS,
    "TroubleNameDocument": REMARKS,
    "NamedNeedDocument": REMARKS,
}
"""By what the list is of."""

BY_MEMBER: Final[Mapping[str, int]] = {
    "AxisReadingDocument.values_mm": 10,
    "BootFitDocument.try_order": _SIZES,
    "BootFitDocument.accessories": 200,
    "HoofAnswerDocument.boots": _BOOTS_SHOWN,
    "HoofAnswerDocument.alternatives": _BOOTS_SHOWN,
    "MatchAnswerDocument.hooves": _HOOVES,
    "SizeFitDocument.sold": 100,
    "PadsAnswerDocument.hooves": _HOOVES,
    "HoofWithPadDocument.boots": _BOOTS_SHOWN,
    "BootWithPadDocument.catalog_pads": 200,
    "CycleAnswerDocument.hooves": _HOOVES,
    "HoofInCycleDocument.sizes": 3,
    "HoofInCycleDocument.weeks": 100,
    "FittingAnswerDocument.sizes": _SIZES,
    "FittingAnswerDocument.exchanges": _BOOTS_SHOWN,
    "HorsePlanDocument.hooves": _HOOVES,
    "HorsePlanDocument.items": 2 * _HOOVES,
    "HorsePlanDocument.spares": 2 * _HOOVES,
    "FrontierStepDocument.boots": _HOOVES,
    "OrderPlanDocument.frontier": 100,
    "OrderPlanDocument.unserved": _HOOVES,
    "OrderPlanDocument.readings": _HOOVES,
    "TrialSetDocument.sizes": 500,
    "TrialSetDocument.curve": 500,
    "CurvePointDocument.sizes": 500,
    "CoverageDocument.planes": 20,
    "PlaneDocument.regions": 20,
    "PlaneDocument.gaps": 100,
    "CalibrationProposalDocument.outcomes": 20,
    "CalibrationProposalDocument.boots": _OUTCOMES,
    "CalibrationProposalDocument.readings": 100,
    "CalibrationProposalDocument.keeping": 100,
    "BootOffsetDocument.unclear": 20,
    "BootOffsetDocument.sizes": _SIZES,
    "ReliabilityDocument.bins": 20,
    "PresentDocument.steps": 100,
    "RecordChangeDocument.fields": 50,
    "SizeChangeDocument.fields": 50,
    "TroubleDocument.causes": 50,
    "PluginDocument.editions": 1_000,
    "PluginDocument.refused": 1_000,
    "PluginDocument.waits_for": 100,
    "PluginDocument.faults": 1_000,
    "HookDocument.events": 20,
    "JobResultDocument.faults": FAULTS,
    "HookWithSecretDocument.events": 20,
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
