"""Size successors: whether the size that is said to have taken another's place exists, and leads on to an end."""

from collections.abc import Iterator

from hooflast.catalog.register import Entry, Register
from hooflast.catalog.structure import nearest_first
from hooflast.errors import Fault

Place = tuple[object, object]
"""A boot model's id and a size code."""


def size_successor_faults(entry: Entry, *, boots: Register) -> Iterator[Fault]:
    """Every fault in the successors of one boot model's sizes."""
    for index in range(entry.count("sizes")):
        steps = ("sizes", index, "successor")
        successor = _successor(entry, index)
        if successor is None:
            continue
        boot_id, code = successor
        if boots.lacks(boot_id):
            yield entry.fault(
                *steps, "boot", code="catalog-unknown-boot", boot=str(boot_id), accepted=boots.nearest(boot_id)
            )
        elif isinstance(boot_id, str) and boot_id in boots.by_id and boots.by_id[boot_id].lacks_size(code):
            accepted = nearest_first(boots.by_id[boot_id].size_codes, to=str(code))
            yield entry.fault(*steps, "size", code="catalog-unknown-size", boot=boot_id, accepted=accepted)
        is_ended = any(entry.at(*place, "discontinued_on") is not None for place in ((), ("sizes", index)))
        if entry.at("sizes", index) is not None and entry.at() is not None and not is_ended:
            yield entry.fault(*steps, code="catalog-successor-of-current")
        if _leads_back((entry.at("id"), entry.at("sizes", index, "code")), boots=boots):
            yield entry.fault(*steps, code="catalog-successor-circle")


def _successor(entry: Entry, index: int) -> Place | None:
    """Where one size leads, as far as that can be relied on."""
    code = entry.at("sizes", index, "successor", "size")
    if code is None:
        return None
    return entry.at("sizes", index, "successor", "boot") or entry.at("id"), code


def _leads_back(start: Place, *, boots: Register) -> bool:
    """Whether following the successors comes back to where it began."""
    passed: set[Place] = set()
    here: Place | None = start
    while here is not None and here not in passed:
        passed.add(here)
        here = _next(here, boots=boots)
    return here == start


def _next(place: Place, *, boots: Register) -> Place | None:
    boot_id, code = place
    entry = boots.by_id.get(boot_id) if isinstance(boot_id, str) else None
    if entry is None:
        return None
    for index in range(entry.count("sizes")):
        if entry.at("sizes", index, "code") == code:
            return _successor(entry, index)
    return None
