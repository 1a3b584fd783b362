"""Naming: what documents, forms and their members are called in GraphQL."""

import re
from collections.abc import Mapping
from typing import Final

from hooflast.errors import Path

RENAMED: Final[Mapping[str, str]] = {
    "CauseDocument": "LikelyCause",
    "Edge": "RangeEnd",
    "EventKind": "ReleaseEventKind",
    "FeatureDocument": "BootFeature",
    "UnclearDocument": "UnclearOutcomes",
    "PresentDocument": "PresentSize",
    "StatementDocument": "ProvenanceStatement",
    "VerdictDocument": "AxisVerdict",
    "Side": "FitSide",
    "Order": "TryOrder",
    "ListedAssortmentForm": "AssortmentInput",
    "ListedItemForm": "AssortmentItemInput",
}
"""Where the usual name would say too little, is another's, or was released as another; by class, with its module
where that alone tells."""

_AFTER_UNDERSCORE: Final = re.compile(r"(?<=[a-z0-9])_([a-z0-9])")


def camel(name: str) -> str:
    """`pad_mm` as `padMm`."""
    return _AFTER_UNDERSCORE.sub(lambda found: found[1].upper(), name)


def output_name(cls: type) -> str:
    """What the type of a document, or an enumeration, is called."""
    module = cls.__module__.partition(".")[2]
    own = RENAMED.get(f"{module}.{cls.__name__}") or RENAMED.get(cls.__name__)
    return own or cls.__name__.removesuffix("Document")


def input_name(cls: type) -> str:
    """What the type of a form is called."""
    return RENAMED.get(cls.__name__) or cls.__name__.removesuffix("Form") + "Input"


def camel_path(path: Path) -> Path:
    """A place in a form as a place in the argument that was given for it."""
    return tuple(camel(step) if isinstance(step, str) else step for step in path)
