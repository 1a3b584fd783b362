"""Strategies: editions as their editors could write them, laid out in files in any way."""

import json
from collections.abc import Iterator, Sequence
from datetime import date
from math import gcd
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.values import AccessoryKind, LimbSet, Sides, SoldAs
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType

FORMAT = "hooflast-catalog-1"
RETRIEVED_ON = date(2025, 3, 1)
AT_REST = ("soaking", "confined")
IN_MOTION = tuple(use for use in IntendedUse if use not in (*AT_REST, "transport"))

bounded = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
"""Editions take a while to make: a failing one is shown as it is, and no time is spent on making it smaller."""

identifiers = st.text("abcxyz019-", min_size=1, max_size=6).map("n".__add__)
texts = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=6)
days = st.dates(min_value=date(2020, 1, 1), max_value=date(2030, 1, 1)).map(date.isoformat)

anything = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 300) | st.floats(0, 300) | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=5,
)

Records = dict[str, list[dict[str, Any]]]


def some_of(words: Sequence[str], *, at_least: int = 1) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from([str(word) for word in words]), min_size=at_least, unique=True)


def eighths(count: int) -> int | str:
    """A number of eighths of an inch as a chart prints it: 39 is "4 7/8", 40 is 5."""
    whole, rest = divmod(count, 8)
    shared = gcd(rest, 8)
    return f"{whole} {rest // shared}/{8 // shared}" if rest else whole


@st.composite
def charts(draw: st.DrawFn) -> dict[str, Any]:
    """A chart with at least one axis and two sizes, each larger than the one before."""
    unit = draw(st.sampled_from(["mm", "cm", "in"]))
    axes = draw(some_of(["width", "length"]))
    codes = draw(st.lists(texts, min_size=2, max_size=4, unique=True))
    low = draw(st.integers(14, 24) if unit == "in" else st.integers(41, 120))
    sizes = []
    for code in codes:
        size: dict[str, Any] = {"code": code}
        for axis in axes:
            ends = (low, low + draw(st.integers(1, 5)))
            size[axis] = [{"mm": end, "cm": end / 10, "in": eighths(end)}[unit] for end in ends]
        sizes.append(size)
        low += draw(st.integers(5, 8))
    return {"chart_unit": unit, "chart_step": {"mm": 1, "cm": 0.1, "in": "1/8"}[unit], "sizes": sizes}


@st.composite
def boots(draw: st.DrawFn, *, boot_id: str, makers: Sequence[str]) -> dict[str, Any]:
    required = {
        "id": boot_id,
        "maker": draw(st.sampled_from(makers)),
        "name": draw(texts),
        "closure": draw(st.sampled_from([str(one) for one in Closure])),
        "shape": draw(st.sampled_from([str(one) for one in ShapeClass])),
        "limbs": draw(st.sampled_from([str(one) for one in LimbSet])),
        "animal_types": draw(some_of(list(AnimalType))),
        "intended_uses": draw(st.sampled_from([AT_REST, IN_MOTION]).flatmap(some_of)),
        "sold_as": draw(st.sampled_from([str(one) for one in SoldAs])),
    }
    optional = st.fixed_dictionaries(
        {},
        optional={
            "sides": st.sampled_from([str(one) for one in Sides]),
            "suits_needs": some_of(list(Need), at_least=0),
            "max_pad_mm": st.integers(0, 20),
            "available_from": st.just("2019-12-31"),
            "discontinued_on": days,
            "note": texts,
        },
    )
    return required | draw(optional) | draw(charts())


@st.composite
def accessories(draw: st.DrawFn, *, accessory_id: str, makers: Sequence[str], boots: Records) -> dict[str, Any]:
    kind = draw(st.sampled_from([str(one) for one in AccessoryKind if one is not AccessoryKind.PAD]))
    sizes = []
    for code in draw(st.lists(texts, min_size=1, max_size=3, unique=True)):
        boot = draw(st.sampled_from(boots["boots"]))
        codes = draw(some_of([size["code"] for size in boot["sizes"]]))
        sizes.append({"code": code, "goes_with": {boot["id"]: codes}})
    maker = draw(st.sampled_from(makers))
    return {"id": accessory_id, "maker": maker, "name": draw(texts), "kind": kind, "sold_as": "pair", "sizes": sizes}


@st.composite
def records(draw: st.DrawFn) -> Records:
    """Everything one edition holds. Later boot models may succeed earlier ones."""
    makers = draw(st.lists(identifiers, min_size=1, max_size=2, unique=True))
    boot_ids = draw(st.lists(identifiers, min_size=1, max_size=3, unique=True))
    edition: Records = {
        "makers": [{"id": maker, "name": draw(texts)} for maker in makers],
        "boots": [draw(boots(boot_id=boot_id, makers=makers)) for boot_id in boot_ids],
    }
    for place, boot in enumerate(edition["boots"][:-1]):
        if "discontinued_on" in boot and draw(st.booleans()):
            boot["successor"] = draw(st.sampled_from(boot_ids[place + 1 :]))
    for boot in edition["boots"]:
        draw(succeed_some_sizes(boot, edition))
    accessory_ids = draw(st.lists(identifiers, max_size=2, unique=True))
    edition["accessories"] = [
        draw(accessories(accessory_id=one, makers=makers, boots=edition)) for one in accessory_ids
    ]
    return edition


@st.composite
def succeed_some_sizes(draw: st.DrawFn, boot: dict[str, Any], edition: Records) -> None:
    """Some sizes end, and lead to a larger one of the same boot model, or to one of a later boot model."""
    later = edition["boots"][edition["boots"].index(boot) + 1 :]
    for place, size in enumerate(boot["sizes"]):
        if draw(st.integers(0, 3)):
            continue
        size["discontinued_on"] = draw(days)
        ways = [{"size": other["code"]} for other in boot["sizes"][place + 1 :]]
        ways += [{"boot": other["id"], "size": one["code"]} for other in later for one in other["sizes"]]
        if ways:
            size["successor"] = draw(st.sampled_from(ways))


def in_one_file(edition: Records) -> list[CatalogFile]:
    return [as_file({"format": FORMAT, **edition})]


@st.composite
def layouts(draw: st.DrawFn, edition: Records) -> list[CatalogFile]:
    """The same records in up to three files, with records, members and unordered lists in any order."""
    contents: list[dict[str, Any]] = [{"format": FORMAT} for _ in range(draw(st.integers(1, 3)))]
    for kind in draw(st.permutations(list(edition))):
        for record in draw(st.permutations(edition[kind])):
            content = draw(st.sampled_from(contents))
            members = draw(st.permutations(list(record.items())))
            content.setdefault(kind, []).append(
                {
                    name: draw(st.permutations(value)) if name in ("animal_types", "intended_uses") else value
                    for name, value in members
                }
            )
    return [as_file(content, source=f"part-{place}.json") for place, content in enumerate(contents)]


def as_file(content: object, *, source: str = "all.json") -> CatalogFile:
    written = json.dumps(content, ensure_ascii=False).encode()
    return CatalogFile(source=source, retrieved_on=RETRIEVED_ON, content=written)


def places(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place in a JSON value but the whole of it."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, entry in steps:
        yield (*path, step)
        yield from places(entry, (*path, step))
