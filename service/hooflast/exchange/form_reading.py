"""Form reading: a request's document checked against its form, with every fault there is at once."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from hooflast.errors import Fault, InputRefused
from hooflast.exchange.faults import faults_of
from hooflast.exchange.length_fields import ReadWith
from hooflast.exchange.plain import LEFT_OUT, MOST_VALUES, plain, read_json
from hooflast.units import Unit

FormT = TypeVar("FormT", bound=BaseModel)


def _nothing_more(document: object) -> Iterator[Fault]:  # noqa: ARG001 (the signature of a further look)
    return iter(())


def read_form(
    raw: object,
    *,
    form: type[FormT],
    today: date,
    look_further: Callable[[object], Iterable[Fault]] = _nothing_more,
    most_values: int = MOST_VALUES,
) -> FormT:
    """Read a form: bytes of JSON in UTF-8, or the same document as Python values.

    `today` is the day it is read on; a day one later is taken as today's, since days begin earlier elsewhere.
    `look_further` finds faults that no single field shows, in the document as it came. A document may hold
    `most_values` values. Raises InputRefused with every fault there is.
    """
    made = plain(read_json(raw) if isinstance(raw, bytes) else raw, most_values=most_values)
    document = made.document
    found = [*made.faults, *look_further(document)]
    try:
        read = form.model_validate(document, context=ReadWith(unit=unit_of(document), today=today))
    except ValidationError as error:
        found += _not_yet_found(faults_of(error, document=document, form=form), found)
        raise InputRefused(faults=tuple(found)) from None
    if found:
        raise InputRefused(faults=tuple(found))
    return read


def unit_of(document: object) -> Unit | None:
    """The form's unit, known before its hooves are read; None if it names one that does not exist."""
    named = document.get("unit", Unit.MM) if isinstance(document, dict) else None
    return Unit(named) if named in list(Unit) else None


def _not_yet_found(faults: Iterable[Fault], found: Iterable[Fault]) -> list[Fault]:
    """The faults that do not only follow from a value that had to be left out already."""
    places = [known.path for known in found if known.code in LEFT_OUT]
    return [new for new in faults if not any(new.path[: len(place)] == place for place in places)]
