"""Choices: the fields of the form, and the words they offer. A field is named after its place in the document."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.girth import Build
from hooflast.fit.hoof import AnimalType, HoofState, Limb, Method, Observer
from hooflast.matching.question import TryFrom
from hooflast.units import Unit

WISHES: Final = 3
"""How many closures can be wished for, dearest first."""

TRUE: Final = "true"

ONE_OF: Final[dict[str, type[StrEnum]]] = {
    "horse.animal_type": AnimalType,
    "horse.build": Build,
    "unit": Unit,
    "method": Method,
    "observer": Observer,
    "try_from": TryFrom,
    "closures": Closure,
    **{f"need.{need}": Course for need in Need},
}
SOME_OF: Final[dict[str, type[StrEnum]]] = {"uses": IntendedUse, **{f"{limb}.states": HoofState for limb in Limb}}
WRITTEN: Final = (
    "horse.name",
    "horse.girth",
    *(f"{limb}.{field}" for limb in Limb for field in ("width", "length", "allowance")),
    "measured_on",
    "weeks_since_trim",
    "pad",
)
TICKED: Final = ("horse.is_foal",)
FIELDS: Final = (
    *("horse.name", "horse.animal_type", "horse.is_foal", "unit"),
    *(f"{limb}.{field}" for limb in Limb for field in ("width", "length", "states", "allowance")),
    *("method", "observer", "measured_on", "weeks_since_trim", "uses", "closures"),
    *(f"need.{need}" for need in Need),
    *("pad", "try_from", "horse.girth", "horse.build"),
)
"""The names of all fields, as they stand in the page."""


def field_id(name: str) -> str:
    """The id of a field in the page."""
    return name.replace(".", "-")


def form_schema() -> dict[str, object]:
    """The form as a JSON Schema, for an OpenAPI document."""

    def words(offered: type[StrEnum], *extra: str) -> dict[str, object]:
        return {"type": "string", "enum": [*extra, *(word.value for word in offered)]}

    properties: dict[str, object] = {
        **{name: {"type": "string"} for name in WRITTEN},
        **{name: words(offered, "") for name, offered in ONE_OF.items() if name != "closures"},
        "closures": {"type": "array", "maxItems": WISHES, "items": words(Closure, "")},
        **{name: {"type": "array", "uniqueItems": True, "items": words(offered)} for name, offered in SOME_OF.items()},
        **{name: {"type": "string", "enum": [TRUE]} for name in TICKED},
    }
    return {"type": "object", "additionalProperties": False, "properties": dict(sorted(properties.items()))}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The words that the form offers a person, in their order."""

    limbs: tuple[Limb, ...] = tuple(Limb)
    states: tuple[HoofState, ...] = tuple(HoofState)
    animal_types: tuple[AnimalType, ...] = tuple(AnimalType)
    units: tuple[Unit, ...] = tuple(Unit)
    methods: tuple[Method, ...] = tuple(method for method in Method if method is not Method.UNKNOWN)
    observers: tuple[Observer, ...] = tuple(Observer)
    uses: tuple[IntendedUse, ...] = tuple(IntendedUse)
    closures: tuple[Closure, ...] = tuple(closure for closure in Closure if closure is not Closure.OTHER)
    needs: tuple[Need, ...] = tuple(Need)
    courses: tuple[Course, ...] = tuple(Course)
    try_from: tuple[TryFrom, ...] = tuple(TryFrom)
    builds: tuple[Build, ...] = tuple(Build)


WORDS: Final = Words()
