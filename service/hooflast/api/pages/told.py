"""Told: the faults of a form in sentences, each with the field it stands beside."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Self

from hooflast.api.pages.choices import FIELDS
from hooflast.api.pages.form import Form
from hooflast.errors import Fault, InputRefused
from hooflast.exchange import FaultText, tell_fault
from hooflast.texts import Texts

LABELS: Final = {
    "horse.name": "page.form.name",
    "horse.animal_type": "page.form.animal-type",
    "horse.is_foal": "page.form.is-foal",
    "horse.girth": "page.form.girth",
    "horse.build": "page.form.build",
    "unit": "page.form.unit",
    "method": "page.form.method",
    "observer": "page.form.observer",
    "measured_on": "page.form.measured-on",
    "weeks_since_trim": "page.form.weeks-since-trim",
    "uses": "page.form.uses",
    "closures": "page.form.closures",
    "pad": "page.form.pad",
    "try_from": "page.form.try-from",
}
OF_A_HOOF: Final = {
    "width": "axis.width",
    "length": "axis.length",
    "states": "page.form.states",
    "allowance": "page.form.allowance",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldFault:
    """A fault in sentences, with its field, if it has one, and what that is called."""

    field: str | None
    label: str
    text: FaultText


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What is wrong with a form: all of it in the order of the fields, and by field."""

    faults: tuple[ToldFault, ...] = ()
    by_field: Mapping[str, tuple[FaultText, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, refused: InputRefused, *, form: Form, texts: Texts) -> Self:
        """Everything that a form was refused for."""
        told = [_told(fault, form=form, texts=texts) for fault in refused.faults]
        faults = tuple(sorted(told, key=_place))
        by_field: defaultdict[str, tuple[FaultText, ...]] = defaultdict(tuple)
        for one in faults:
            if one.field is not None:
                by_field[one.field] += (one.text,)
        return cls(faults=faults, by_field=dict(by_field))


def _place(told: ToldFault) -> int:
    return len(FIELDS) if told.field is None else FIELDS.index(told.field)


def _told(fault: Fault, *, form: Form, texts: Texts) -> ToldFault:
    name, text = form.field_of(fault), tell_fault(fault, texts=texts)
    return ToldFault(field=name, label=text.place if name is None else _label(name, texts=texts), text=text)


def _label(name: str, *, texts: Texts) -> str:
    if name in LABELS:
        return texts.say(LABELS[name])
    group, _, member = name.partition(".")
    if group == "need":
        return texts.say(f"need.{member}")
    return texts.say("page.form.place", {"limb": group, "field": texts.say(OF_A_HOOF[member])})
