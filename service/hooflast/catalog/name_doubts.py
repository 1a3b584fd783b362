"""Name doubts: what to look at again in names and size codes: two that people take for one, and stray spaces."""

from collections import defaultdict
from collections.abc import Iterable, Iterator

from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.values import BootModel
from hooflast.errors import Fact

FoundName = tuple[DoubtCode, BootModel, dict[str, Fact]]
"""A doubt, the boot model it is about, and its facts."""


def name_doubts(boots: Iterable[BootModel], *, among: Iterable[BootModel]) -> Iterator[FoundName]:
    """Everything to look at again in the names of `boots`, which stand `among` all boot models of a catalog release."""
    namesakes: defaultdict[tuple[str, str], list[BootModel]] = defaultdict(list)
    for one in among:
        namesakes[one.maker, spoken(one.name)].append(one)
    for boot in boots:
        for other in namesakes[boot.maker, spoken(boot.name)]:
            if other.id != boot.id and other.discontinued_on is None and boot.discontinued_on is None:
                yield DoubtCode.SAME_NAME, boot, {"other_record": other.id}
        yield from _spaces(boot)
        yield from _codes(boot)


def spoken(name: str) -> str:
    """A name as it is heard: capitals and spaces make no difference."""
    return "".join(name.split()).casefold()


def _spaces(boot: BootModel) -> Iterator[FoundName]:
    for name in (boot.name, *(size.code for size in boot.sizes)):
        if name != " ".join(name.split()):
            yield DoubtCode.NAME_SPACED, boot, {"written": f"“{name}”"}


def _codes(boot: BootModel) -> Iterator[FoundName]:
    first: dict[str, str] = {}
    for size in boot.sizes:
        before = first.setdefault(spoken(size.code), size.code)
        if before != size.code:
            yield DoubtCode.CODES_ALIKE, boot, {"size": before, "other_size": size.code}
