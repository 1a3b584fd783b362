"""Level pairs: one boot model for both hooves of a pair, where the best of each differ, so that the horse stands level.

A plan for the whole horse weighs sizes, stock and price (`whole_horse`); this looks only at what a match shows anyway.
"""

from collections.abc import Iterator, Mapping

from hooflast.catalog.values import BootId
from hooflast.errors import Fact
from hooflast.fit.comparing import PAIRS
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Remark
from hooflast.matching.shelf import Shelf

Shown = Mapping[str, str]
"""The boot models shown for one hoof, best first, each with its best size."""


def level_pairs(shown: Mapping[Limb, Shown], shelf: Shelf) -> tuple[Remark, ...]:
    """For each pair whose hooves lead with different boot models, the one that stands highest in both lists."""
    return tuple(_remarks(shown, shelf))


def _remarks(shown: Mapping[Limb, Shown], shelf: Shelf) -> Iterator[Remark]:
    for left, right in PAIRS:
        of_left, of_right = shown.get(left), shown.get(right)
        if not of_left or not of_right or next(iter(of_left)) == next(iter(of_right)):
            continue
        facts: dict[str, Fact] = {"limb": left.value, "other_limb": right.value}
        on_left, on_right = list(of_left), list(of_right)
        both = [boot for boot in on_left if boot in of_right]
        if not both:
            yield Remark(code="no-boot-shown-for-both", facts=facts)
            continue
        boot = min(both, key=lambda boot: (on_left.index(boot) + on_right.index(boot), boot))
        facts |= {"boot": shelf.release.boots[BootId(boot)].name, "size": of_left[boot], "other_size": of_right[boot]}
        yield Remark(code="one-boot-for-both", facts=facts)
