"""Errors: what matching raises.

HooflastError
├── CannotAnswerAgain (LookupError)    a kept question can no longer be answered as it was
└── SealInvalid (ValueError)           a catalog release, or a record of it, is not what was sealed
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


@dataclass(kw_only=True, eq=False)
class CannotAnswerAgain(HooflastError, LookupError):
    """What the answer `match` was made with is gone: its catalog release, its engine or its calibration."""

    code: ClassVar[str] = "cannot-answer-again"
    match: str
    catalog_release: str
    engine: str

    def __str__(self) -> str:
        return f"match {self.match} was made with {self.engine} on {self.catalog_release}, which are not both here"


@dataclass(kw_only=True, eq=False)
class SealInvalid(HooflastError, ValueError):
    """The catalog release, or a record of it, is not what this service sealed when it published it."""

    code: ClassVar[str] = "seal-invalid"
    release: str
    reason: str

    def __str__(self) -> str:
        return f"catalog release {self.release} is not as it was sealed: {self.reason}"
