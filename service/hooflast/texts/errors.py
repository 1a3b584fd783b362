"""Errors of texts.

HooflastError
├── TextMissing (LookupError)   a language has no sentence for a key
└── FactMissing (LookupError)   a sentence asks for a fact it was not given

Both are mistakes of the program or of a catalog, never of a caller.
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


@dataclass(kw_only=True, eq=False)
class TextMissing(HooflastError, LookupError):
    """A language has no sentence for a key."""

    code: ClassVar[str] = "text-missing"
    key: str
    language: str

    def __str__(self) -> str:
        return f"no sentence {self.key!r} in language {self.language!r}"


@dataclass(kw_only=True, eq=False)
class FactMissing(HooflastError, LookupError):
    """A sentence asks for a fact it was not given."""

    code: ClassVar[str] = "fact-missing"
    key: str
    language: str
    fact: str

    def __str__(self) -> str:
        return f"the sentence {self.key!r} in language {self.language!r} asks for {self.fact!r}, which was not given"
