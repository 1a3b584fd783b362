"""Sales: hooves and boots on sale of every kind for plans, and the best plan found by trying everything there is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from hypothesis import strategies as st

from hooflast.fit.buying import Offer
from hooflast.fit.hoof import Limb
from hooflast.fit.pair_choices import BootOnSale
from hooflast.fit.plan_order import Aim, Goal
from hooflast.fit.wearable import HoofBoots, Wearable
from hooflast.fit.whole_horse import Plan

CHANCES = (0.0, 0.125, 0.25, 0.5, 0.625, 0.875, 1.0)
"""Exact in binary, so that sums of them are compared exactly."""

LEFTS = (Limb.LF, Limb.LH)
Key = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """A horse's hooves, and the boots on sale for them."""

    hooves: tuple[HoofBoots, ...]
    on_sale: tuple[BootOnSale, ...]


@st.composite
def offers(draw: st.DrawFn) -> Offer:
    return Offer(
        is_pair=draw(st.booleans()),
        price=draw(st.none() | st.integers(0, 6)),
        stock=draw(st.none() | st.integers(0, 3)),
    )


@st.composite
def sales(draw: st.DrawFn) -> Sale:
    """Up to four hooves and up to four boot models of up to two sizes."""
    limbs = draw(st.lists(st.sampled_from(Limb), min_size=1, max_size=4, unique=True))
    boots = draw(st.lists(st.sampled_from("abcd"), max_size=4, unique=True))
    counts = {boot: draw(st.integers(1, 2)) for boot in boots}
    chances = st.sampled_from(CHANCES)
    return Sale(
        hooves=tuple(
            HoofBoots(
                limb=limb,
                sizes={
                    boot: tuple(
                        Wearable(size=size, fit_chance=draw(chances), worth=draw(chances)) for size in range(count)
                    )
                    for boot, count in counts.items()
                    if draw(st.integers(0, 4))
                },
                closeness={boot: draw(chances) for boot in boots},
            )
            for limb in limbs
        ),
        on_sale=tuple(
            BootOnSale(
                boot=boot,
                offers={
                    size: tuple(draw(st.lists(offers(), max_size=2)))
                    for size in range(count)
                    if draw(st.integers(0, 5))
                },
                is_sided=draw(st.booleans()),
                wish_rank=draw(st.integers(0, 1)),
            )
            for boot, count in counts.items()
        ),
    )


goals = st.builds(
    Goal,
    least_fit_chance=st.sampled_from(CHANCES[:4]),
    band_width=st.sampled_from((0.0, 0.125, 0.5, 2.0)),
    aim=st.sampled_from(Aim),
    budget=st.none() | st.integers(0, 20),
)

Assignment = dict[Limb, tuple[str, int]]


def assignments(sale: Sale, *, goal: Goal) -> Iterator[Assignment]:
    """Every way to give each hoof a size or none, with the hooves of a pair in one boot model or both without."""
    fores, hinds = (
        [hoof for hoof in sale.hooves if (hoof.limb in (Limb.LF, Limb.RF)) is fore] for fore in (True, False)
    )
    for fore, hind in product(_of_pair(fores, sale, goal=goal), _of_pair(hinds, sale, goal=goal)):
        yield {**fore, **hind}


def _of_pair(pair: list[HoofBoots], sale: Sale, *, goal: Goal) -> list[Assignment]:
    found: list[Assignment] = [{}]
    for one in sale.on_sale:
        wearable = [
            [
                (hoof.limb, (one.boot, size.size))
                for size in hoof.sizes.get(one.boot, ())
                if size.size in one.offers and size.fit_chance >= goal.least_fit_chance
            ]
            for hoof in pair
        ]
        found += [dict(worn) for worn in product(*wearable) if worn]
    return found


def cheapest_by_trial(ways: Sequence[Offer], *, left: int, right: int, is_sided: bool) -> Key | None:
    """Boots without a price, price and spares of the cheapest purchase, all quantities tried; None if there is none."""
    costs = []
    for counts in product(range(left + right + 1), repeat=len(ways)):
        bought = list(zip(counts, ways, strict=True))
        if any(way.stock is not None and count > way.stock for count, way in bought):
            continue
        pairs = sum(count for count, way in bought if way.is_pair)
        singles = sum(count for count, way in bought if not way.is_pair)
        lacking = max(0, left - pairs) + max(0, right - pairs) if is_sided else left + right - 2 * pairs
        if lacking <= singles:
            unpriced = sum(count * (2 if way.is_pair else 1) for count, way in bought if way.price is None)
            price = sum(count * way.price for count, way in bought if way.price is not None)
            costs.append((unpriced, price, 2 * pairs + singles - left - right))
    return min(costs, default=None)


def value_of(worn: Assignment, sale: Sale, *, goal: Goal) -> dict[str, float] | None:
    """What an assignment is judged by, bought as cheaply as can be; None if it cannot be bought."""
    by_limb = {hoof.limb: hoof for hoof in sale.hooves}
    by_boot = {one.boot: one for one in sale.on_sale}
    costs = []
    for boot, size in set(worn.values()):
        on_sale = by_boot[boot]
        ways = [way for way in on_sale.offers[size] if goal.budget is None or way.price is not None]
        sides = [limb in LEFTS for limb, given in worn.items() if given == (boot, size)]
        cost = cheapest_by_trial(ways, left=sides.count(True), right=sides.count(False), is_sided=on_sale.is_sided)
        if cost is None:
            return None
        costs.append(cost)
    unpriced, price, spares = (sum(column) for column in zip((0, 0, 0), *costs, strict=True))
    if goal.budget is not None and price > goal.budget:
        return None
    sizes = [by_limb[limb].sizes[boot][size] for limb, (boot, size) in worn.items()]
    return {
        "served": len(worn),
        "fitting": sum(size.fit_chance for size in sizes),
        "wish": sum(by_boot[boot].wish_rank for boot, _ in worn.values()),
        "unpriced": unpriced,
        "price": price,
        "spares": spares,
        "closeness": sum(by_limb[limb].closeness[boot] for limb, (boot, _) in worn.items()),
        "worth": sum(size.worth for size in sizes),
    }


def ideal_by_trial(sale: Sale, *, goal: Goal) -> float:
    """The best expected number of hooves that fit, whatever it takes to buy them."""
    fits = [
        sum(hoof.sizes[worn[hoof.limb][0]][worn[hoof.limb][1]].fit_chance for hoof in sale.hooves if hoof.limb in worn)
        for worn in assignments(sale, goal=goal)
    ]
    return max(fits)


def key_of(value: dict[str, float], *, goal: Goal, ideal: float) -> Key:
    """What plans are ordered by; the smaller is better."""
    one = value
    if goal.aim is Aim.CHEAPEST:
        return (
            -one["served"], one["unpriced"], one["price"], one["wish"], -one["fitting"], one["spares"],
            -one["closeness"], -one["worth"],
        )  # fmt: skip
    band = (ideal - one["fitting"]) // max(1e-9, goal.band_width)
    return (
        -one["served"], band, one["wish"], one["unpriced"], one["price"], one["spares"],
        -one["closeness"], -one["worth"], -one["fitting"],
    )  # fmt: skip


def worn_in(plan: Plan) -> Assignment:
    """What every hoof of a plan wears."""
    return {one.limb: (one.boot, one.wearable.size) for one in plan.worn}


def boots_in(worn: Assignment) -> set[tuple[bool, str]]:
    """The boot models of fores and hinds."""
    return {(limb.is_fore, boot) for limb, (boot, _) in worn.items()}
