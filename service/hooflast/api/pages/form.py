"""Form: what a browser sends, made into the document that `read_match_question` takes, and faults led back to fields.

Empty fields count as left out. Nothing is validated here: whatever is written stands in the document as it came, a
field that does not exist included, so that it is refused there with everything else.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import parse_qsl

from hooflast.api.pages.choices import FIELDS, TRUE
from hooflast.errors import Fault, InputRefused
from hooflast.exchange import FaultCode
from hooflast.exchange.cells import field_value
from hooflast.exchange.faults import fault
from hooflast.fit.hoof import Limb

MOST_FIELDS: Final = 200
BETWEEN_REPEATS: Final = ";"
_REPEATED: Final = frozenset({"width", "length"})
_LISTS: Final = frozenset({"uses", "closures", "states"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A filled-in form: the texts of each field, in the order they came. A field left empty is not in it."""

    texts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """What stands in a field; empty if nothing does."""
        return self.texts.get(name, ("",))[0]

    def all(self, name: str) -> tuple[str, ...]:
        """Everything that was chosen in a field."""
        return self.texts.get(name, ())

    @property
    def limbs(self) -> tuple[Limb, ...]:
        """The hooves of which anything is told."""
        return tuple(limb for limb in Limb if any(name.startswith(f"{limb}.") for name in self.texts))

    @property
    def needs(self) -> tuple[str, ...]:
        """The needs that are named."""
        return tuple(name.partition(".")[2] for name in self.texts if name.startswith("need."))

    def document(self) -> dict[str, object]:
        """The form as the document of a match."""
        document: dict[str, object] = {}
        horse: dict[str, object] = {}
        hooves: dict[str, dict[str, object]] = {limb.value: {"limb": limb.value} for limb in self.limbs}
        needs: list[dict[str, object]] = []
        for name, texts in self.texts.items():
            group, _, member = name.rpartition(".")
            if group == "horse":
                horse[member] = _value(member, texts)
            elif group in hooves:
                hooves[group][member] = _value(member, texts)
            elif group == "need":
                needs.append({"need": member, "course": _value("course", texts)})
            else:
                document[name] = _value(name, texts)
        document.setdefault("hooves", list(hooves.values()))
        for name, told in (("horse", horse), ("needs", needs)):
            if told:
                document.setdefault(name, told)
        return document

    def field_of(self, found: Fault) -> str | None:
        """The field that a fault of the document lies in; None if there is no such field."""
        match found.path:
            case ("hooves", int(index), str(member), *_):
                name = f"{self.limbs[index]}.{member}"
            case ("hooves", *_):
                name = f"{self.limbs[0] if self.limbs else Limb.LF}.width"
            case ("needs", int(index), *_):
                name = f"need.{self.needs[index]}"
            case ("horse", str(member), *_):
                name = f"horse.{member}"
            case (str(member), *_):
                name = member
            case _:
                return None
        return name if name in FIELDS else None


def read_form(raw: bytes) -> Form:
    """Read a form as browsers send it. Raises InputRefused if it has more fields than any form here."""
    try:
        pairs = parse_qsl(raw.decode("utf-8", "replace"), errors="replace", max_num_fields=MOST_FIELDS)
    except ValueError:
        facts = {"limit": MOST_FIELDS}
        raise InputRefused(faults=(fault(FaultCode.TOO_BIG, received=None, facts=facts),)) from None
    texts: dict[str, tuple[str, ...]] = {}
    for name, text in pairs:
        if text.strip():
            texts[name] = (*texts.get(name, ()), text)
    return Form(texts=texts)


def _value(member: str, texts: tuple[str, ...]) -> object:
    if member in _LISTS:
        return [text.strip() for text in texts]
    if member in _REPEATED:
        texts = tuple(part for text in texts for part in text.split(BETWEEN_REPEATS) if part.strip()) or texts
    if member == "is_foal" and texts == (TRUE,):
        return True
    return field_value(member, texts)
