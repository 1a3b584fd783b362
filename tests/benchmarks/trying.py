"""Trying on: the two practised orders and the shortest one, over a simulated population of hooves.

Hooves are drawn from the engine's population of horses, and read with the engine's own error model: by an owner with a
tape or by a professional with a calliper, to whole millimetres. Each boot model runs off its chart by its own offset,
each boot stands to the hoof as the one link between hoof and size has it, and each finding misleads as often as the
engine says. All orders meet the same hooves, readings, boots and findings. A boot model is tried where the engine would
offer it; both practised orders begin from the size the engine calls best.

A trial ends with a size that stays put, or the boot model is left, after four sizes at the latest. It ends right where
the size that stays put truly fits.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.findings import LAST_LOOK, USUAL, Finding, Seen, standing_chances
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.layout import Layout, lay_out_sizes
from hooflast.fit.lookahead import LEFT_COSTS, MOST_TRIES, Found, shortest, step_by_step
from hooflast.fit.match import match_hoof
from hooflast.fit.next_step import CONTRADICTED
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.sizes import BootChart, size_table
from hooflast.fit.trial import OFFSET_SD_MM, begin_trial, chance_misled, hoof_lattice
from hooflast.fit.uncertainty import reading_error

HOOVES: Final = 12_000
SEED: Final = 20
STEPS_MM: Final = (5.0, 7.0, 10.0)
CLOSURES: Final = (Closure.PULL_ON, Closure.BUCKLE, Closure.STRAP)
READERS: Final = ((Observer.OWNER, Method.TAPE), (Observer.PROFESSIONAL, Method.CALLIPER))
ORDERS: Final = ("one above and down", "at the best size", "shortest", "shortest, more patient")
PATIENT: Final = 2.0 * LEFT_COSTS
"""Try-ons that a fitting size is worth to somebody more patient: a lone size is tried from half the chance on."""

STAYS: Final = LAST_LOOK.index(Finding.STAYS_PUT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """How one order went, for each hoof tried: the number of try-ons, whether it ended with a fitting size, and whether
    the findings looked so odd that the engine would have the hoof measured again."""

    try_ons: NDArray[np.intp]
    right: NDArray[np.bool_]
    measured_again: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hooves:
    """Hooves tried in one boot model: what is believed of each, and of each of its sizes how it truly stands (M, n) and
    what will be found (M, n)."""

    estimates: list[Estimate]
    best: list[int]
    standing: NDArray[np.intp]
    finding: NDArray[np.intp]


def chart(*, step_mm: float, closure: Closure) -> BootChart:
    """Sizes that follow on each other without a hole when read to whole millimetres, for hooves of 80 to 190 mm."""
    lows = np.arange(80.0, 190.0, step_mm)
    ranges = [(float(low), float(low) + step_mm - 1.0) for low in lows]
    return BootChart(closure=closure, widths_mm=ranges, lengths_mm=ranges)


def read(hooves: Floats, *, observer: Observer, method: Method, rng: np.random.Generator) -> list[HoofReading]:
    """The hooves (M, 2) as they are read, each with an error of the engine's own model, to whole millimetres."""

    def reading(width: float, length: float) -> HoofReading:
        width_read, length_read = (AxisReading(values_mm=(float(value),)) for value in (width, length))
        return HoofReading(limb=Limb.LF, width=width_read, length=length_read, method=method, observer=observer)

    error = reading_error(reading(130.0, 130.0))
    roots = np.linalg.cholesky(error.covariances - np.eye(2) / 12.0)
    part = rng.choice(len(error.chances), size=len(hooves), p=error.chances)
    values = hooves + np.einsum("nij,nj->ni", roots[part], rng.standard_normal(hooves.shape))
    return [reading(width, length) for width, length in np.round(values)]


def meet(hooves: Floats, layout: Layout, *, readings: list[HoofReading], rng: np.random.Generator) -> Hooves:
    """The hooves whose reading has the boot model offered, with boots and findings drawn for each of its sizes."""
    estimates = [estimate_hoof(reading, animal_type=AnimalType.HORSE) for reading in readings]
    only = np.zeros(1, dtype=np.intp)
    matches = [match_hoof(estimate, layout, boots=only, wish_rank=[0]) for estimate in estimates]
    offered = [place for place, match in enumerate(matches) if match.boots]
    met = hooves[offered] - OFFSET_SD_MM * rng.standard_normal((len(offered), 2))
    sizes = layout.table.sizes_of(0)
    standing = np.empty((len(offered), len(sizes)), dtype=np.intp)
    for place, (width, length) in enumerate(met):
        point = np.array([width]), np.array([length])
        standing[place] = _draw(standing_chances(point, layout.table, sizes=sizes)[:, :, 0, 0], rng=rng)
    return Hooves(
        estimates=[estimates[place] for place in offered],
        best=[matches[place].boots[0].best for place in offered],
        standing=standing,
        finding=_draw(USUAL.last_look[standing], rng=rng),
    )


def _draw(chances: Floats, *, rng: np.random.Generator) -> NDArray[np.intp]:
    """One of the last axis' places each, with these chances."""
    passed = rng.random(chances.shape[:-1])[..., None] > chances.cumsum(axis=-1)
    return np.minimum(passed.sum(axis=-1), chances.shape[-1] - 1)


def by_practice(hooves: Hooves, *, above: int) -> Course:
    """A practised order on every hoof."""
    return _course(hooves, [_walk(hooves, place, above=above) for place in range(len(hooves.best))])


def by_look_ahead(hooves: Hooves, layout: Layout, *, left_costs: float) -> Course:
    """The shortest order on every hoof, worked out anew after each finding."""
    found = [_look_ahead(hooves, place, layout=layout, left_costs=left_costs) for place in range(len(hooves.best))]
    return _course(hooves, [course for course, _ in found], measured_again=[misled for _, misled in found])


def _walk(hooves: Hooves, hoof: int, *, above: int) -> Found:
    count = hooves.finding.shape[1]
    order = step_by_step(min(hooves.best[hoof] + above, count - 1), count=count)
    found: Found = ()
    while len(found) < MOST_TRIES and (size := order(found)) is not None:
        found = (*found, (size, int(hooves.finding[hoof, size])))
    return found


def _look_ahead(hooves: Hooves, hoof: int, *, layout: Layout, left_costs: float) -> tuple[Found, bool]:
    """What was found, and whether the engine would have asked to measure the hoof again on the way."""
    sizes = layout.table.sizes_of(0)
    trial = begin_trial(hoof_lattice(hooves.estimates[hoof]), layout.table, sizes=sizes)
    found: Found = ()
    again = False
    while len(found) < MOST_TRIES:
        size = shortest(trial, tries_left=MOST_TRIES - len(found), left_costs=left_costs).size
        if size is None:
            break
        finding = int(hooves.finding[hoof, size])
        found = (*found, (size, finding))
        trial = trial.with_try_on(size, Seen(finding=LAST_LOOK[finding]))
        again |= chance_misled(trial.evidence, tried=trial.tried) >= CONTRADICTED
        if finding == STAYS:
            break
    return found, again


def _course(hooves: Hooves, courses: list[Found], *, measured_again: list[bool] | None = None) -> Course:
    right = [
        bool(found) and found[-1][1] == STAYS and hooves.standing[hoof, found[-1][0]] == 0
        for hoof, found in enumerate(courses)
    ]
    again = np.array(measured_again or [False] * len(courses))
    return Course(try_ons=np.array([len(found) for found in courses]), right=np.array(right), measured_again=again)


def run(count: int) -> Iterator[tuple[str, list[Course]]]:
    """The three orders on the hooves of each reader, chart and closure, `count` hooves drawn for each reader."""
    kind = population(AnimalType.HORSE, limb=Limb.LF)
    ways = list(product(READERS, STEPS_MM, CLOSURES))
    for number, ((observer, method), step_mm, closure) in enumerate(ways):
        rng = np.random.default_rng([SEED, number])
        hooves = rng.multivariate_normal(kind.mean, kind.covariance, size=count // (len(ways) // len(READERS)))
        layout = lay_out_sizes(size_table([chart(step_mm=step_mm, closure=closure)]))
        readings = read(hooves, observer=observer, method=method, rng=rng)
        met = meet(hooves, layout, readings=readings, rng=rng)
        name = f"{observer.value}, {method.value}; sizes {step_mm:.0f} mm apart; {closure.value}"
        yield (
            name,
            [
                by_practice(met, above=1),
                by_practice(met, above=0),
                by_look_ahead(met, layout, left_costs=LEFT_COSTS),
                by_look_ahead(met, layout, left_costs=PATIENT),
            ],
        )


def tell(name: str, courses: list[Course]) -> None:
    """Means with their standard errors; the shortest order against the others, hoof by hoof."""
    print(f"{name}: {len(courses[0].try_ons)} hooves")
    for order, course in zip(ORDERS, courses, strict=True):
        spoken = [
            "  {:24} {:.3f} ± {:.3f} try-ons, {:.3f} ± {:.3f} end right".format(
                order, *_mean(course.try_ons), *_mean(course.right)
            )
        ]
        for other, practised in zip(ORDERS[:2], courses[:2], strict=True):
            if order not in ORDERS[:2]:
                fewer, more = _mean(practised.try_ons - course.try_ons), _mean(course.right * 1.0 - practised.right)
                spoken.append(
                    "{:+.3f} ± {:.3f} fewer and {:+.3f} ± {:.3f} more right than ".format(*fewer, *more) + other
                )
        print("; ".join(spoken))
    print(
        "  findings so odd that the hoof is measured again: {:.4f} ± {:.4f}".format(*_mean(courses[2].measured_again))
    )


def _mean(values: NDArray[np.generic]) -> tuple[float, float]:
    numbers = values.astype(float)
    return float(numbers.mean()), float(numbers.std(ddof=1) / np.sqrt(len(numbers)))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else HOOVES
    found = []
    for name, courses in run(count):
        tell(name, courses)
        found.append((name, courses))
    for reader in [observer.value for observer, _ in READERS] + [""]:
        of_reader = [courses for name, courses in found if name.startswith(reader)]
        together = [
            Course(
                try_ons=np.concatenate([courses[order].try_ons for courses in of_reader]),
                right=np.concatenate([courses[order].right for courses in of_reader]),
                measured_again=np.concatenate([courses[order].measured_again for courses in of_reader]),
            )
            for order in range(len(ORDERS))
        ]
        tell(reader or "all", together)


if __name__ == "__main__":
    main()
