"""Meaning: whether what the records of one edition say is possible, alone and beside each other."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.catalog.chart import chart_faults
from hooflast.catalog.document import Document
from hooflast.catalog.gtin import check_digit
from hooflast.catalog.references import reference_faults
from hooflast.errors import Fault, Path
from hooflast.fit.boot import IntendedUse

AT_REST: Final = frozenset({IntendedUse.SOAKING, IntendedUse.CONFINED})
IN_MOTION: Final = frozenset(IntendedUse) - AT_REST - {IntendedUse.TRANSPORT}


def meaning_faults(documents: Sequence[Document]) -> list[Fault]:
    """Every fault of meaning in the files of one edition; places with faults of form are passed over."""
    faults = [
        fault
        for document in documents
        for boot in range(document.count("boots"))
        for fault in (*chart_faults(document, boot), *_use_faults(document, boot), *_date_faults(document, boot))
    ]
    return [*faults, *_code_faults(documents), *_gtin_faults(documents), *reference_faults(documents)]


def _use_faults(document: Document, boot: int) -> Iterator[Fault]:
    """A boot for standing in is not one for moving in (common practice, no source)."""
    steps = ("boots", boot, "intended_uses")
    uses = {IntendedUse(use) for use in document.at(*steps) or ()}
    if uses & AT_REST and uses & IN_MOTION:
        facts = {
            "at_rest_use_list": ", ".join(sorted(uses & AT_REST)),
            "in_motion_use_list": ", ".join(sorted(uses & IN_MOTION)),
        }
        yield Fault(path=document.path(*steps), code="catalog-uses-conflict", received=document.at(*steps), facts=facts)


def _date_faults(document: Document, boot: int) -> Iterator[Fault]:
    """What is discontinued before its first day in sale."""
    places: list[Path] = [(), *(("sizes", size) for size in range(document.count("boots", boot, "sizes")))]
    for place in places:
        steps = ("boots", boot, *place)
        first, ended = (document.at(*steps, name) for name in ("available_from", "discontinued_on"))
        if first is not None and ended is not None and ended <= first:
            facts = {"available_date": first}
            path = document.path(*steps, "discontinued_on")
            yield Fault(path=path, code="catalog-days-reversed", received=ended, facts=facts)


def _code_faults(documents: Iterable[Document]) -> Iterator[Fault]:
    for document in documents:
        for kind in ("boots", "accessories"):
            for entry in range(document.count(kind)):
                sizes = range(document.count(kind, entry, "sizes"))
                codes = [_named(document, kind, entry, "sizes", size, "code") for size in sizes]
                yield from _repeated(codes, code="catalog-repeated-size-code")


def _gtin_faults(documents: Iterable[Document]) -> Iterator[Fault]:
    gtins = [
        _named(document, kind, entry, "sizes", size, "gtin")
        for document in documents
        for kind in ("boots", "accessories")
        for entry in range(document.count(kind))
        for size in range(document.count(kind, entry, "sizes"))
    ]
    yield from _repeated(gtins, code="catalog-repeated-gtin")
    for gtin in gtins:
        if gtin.value is not None and gtin.value[-1] != check_digit(gtin.value[:-1]):
            facts = {"check_digit": check_digit(gtin.value[:-1])}
            yield Fault(path=gtin.path, code="catalog-gtin-check-digit", received=gtin.value, facts=facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Named:
    document: Document
    steps: Path
    value: str | None

    @property
    def path(self) -> Path:
        return self.document.path(*self.steps)


def _named(document: Document, *steps: str | int) -> _Named:
    return _Named(document=document, steps=steps, value=document.at(*steps))


def _repeated(named: Iterable[_Named], *, code: str) -> Iterator[Fault]:
    """A fault for every value that stood before, with the place where it stood first."""
    first: dict[str, _Named] = {}
    for one in named:
        if one.value is None:
            continue
        if before := first.get(one.value):
            place = before.document.called(*before.steps)
            yield Fault(path=one.path, code=code, received=one.value, facts={"first": place})
        first.setdefault(one.value, one)
