"""Errors: what draw raises.

HooflastError
└── PictureRefused (ValueError)    a value cannot be drawn, and which of its fields is why
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


@dataclass(kw_only=True, eq=False)
class PictureRefused(HooflastError, ValueError):
    """A value cannot be drawn: the caller built it wrongly; nothing a reader did."""

    code: ClassVar[str] = "picture-refused"
    field: str
    received: object
    accepted: str

    def __str__(self) -> str:
        return f"{self.field} cannot be drawn: received {self.received!r}, accepted {self.accepted}"
