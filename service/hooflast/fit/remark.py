"""Remark: something to tell a person, as a code with facts; the sentence is made in `texts`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

Fact = str | int | float


class Severity(StrEnum):
    """How much a caution matters: read it, look again before ordering, or do not use and ask a professional."""

    NOTE = "note"
    LOOK_AGAIN = "look_again"
    STOP = "stop"


class Footing(StrEnum):
    """What a caution rests on where no publication says it; the words for it are made in `texts`."""

    COMMON_PRACTICE = "common-practice"
    FARRIERY = "farriery"
    CONVENTION = "convention"
    CATALOG = "catalog"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A reason or an assumption. `code` names the sentence, `facts` fill its placeholders."""

    code: str
    facts: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A message about safety or doubt. `source` is what it rests on: a publication as it is cited, or a Footing."""

    code: str
    severity: Severity
    source: str
    facts: Mapping[str, Fact] = field(default_factory=dict)
