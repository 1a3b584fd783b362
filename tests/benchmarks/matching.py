"""Matching against the closed form on every size: 4 hooves × 1,000 boot models × 8 sizes, the top 10 for each hoof."""

from statistics import median
from time import perf_counter

import numpy as np

from hooflast.fit.boot import Closure
from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.layout import Layout, lay_out_sizes
from hooflast.fit.match import match_hoof
from hooflast.fit.sizes import BootChart, SizeTable, size_table

BOOTS, SIZES, TOP, ROUNDS = 1000, 8, 10, 7


def catalog(*, near: float) -> SizeTable:
    """Boot models around an ordinary hoof for the share `near`; the others' sizes lie far from it."""
    rng = np.random.default_rng(11)
    closures = list(Closure)
    charts = []
    for number in range(BOOTS):
        step, ratio = rng.integers(4, 9), rng.uniform(0.9, 1.1)
        first = rng.integers(85, 115) if number < near * BOOTS else rng.integers(190, 200)
        widths = [(float(first + size * step), float(first + (size + 1) * step - 1)) for size in range(SIZES)]
        lengths = [(low / ratio, high / ratio) for low, high in widths]
        charts.append(BootChart(closure=closures[number % len(closures)], widths_mm=widths, lengths_mm=lengths))
    return size_table(charts)


def hooves(observer: Observer) -> list[Estimate]:
    readings = {Limb.LF: (124.0, 127.0), Limb.RF: (126.0, 127.0), Limb.LH: (119.0, 125.0), Limb.RH: (120.0, 124.0)}
    return [
        estimate_hoof(
            HoofReading(
                limb=limb,
                width=AxisReading(values_mm=(width,)),
                length=AxisReading(values_mm=(length,)),
                method=Method.TAPE,
                observer=observer,
            ),
            animal_type=AnimalType.HORSE,
        )
        for limb, (width, length) in readings.items()
    ]


def ranked(layout: Layout, *, estimates: list[Estimate]) -> float:
    """Seconds to rank the top boot models for every hoof, as the service does."""
    boots, wishes = np.arange(BOOTS), [0] * BOOTS
    begun = perf_counter()
    for estimate in estimates:
        match_hoof(estimate, layout, boots=boots, wish_rank=wishes, at_most=TOP)
    return perf_counter() - begun


def closed_form_everywhere(table: SizeTable, *, estimates: list[Estimate]) -> float:
    """Seconds to evaluate every size's expected worth in closed form and take the best boot models."""
    steps = np.array([preference(closure) for closure in table.closures])[table.boot_of]
    begun = perf_counter()
    for estimate in estimates:
        corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        best = np.maximum.reduceat(expected_worth(corners, steps=steps), table.first[:-1])
        np.argpartition(-best, TOP)[:TOP]
    return perf_counter() - begun


def main() -> None:
    for observer in Observer:
        estimates = hooves(observer)
        print(f"readings by {observer.value}, parts of the mixture: {len(estimates[0].weights)}")
        for near in (1.0, 0.5, 0.25, 0.05):
            table = catalog(near=near)
            layout = lay_out_sizes(table)
            pairs = [
                (ranked(layout, estimates=estimates), closed_form_everywhere(table, estimates=estimates))
                for _ in range(ROUNDS)
            ]
            ratios = sorted(ours / theirs for ours, theirs in pairs)
            print(
                f"  {near:4.0%} of boot models near: {1000 * median(ours for ours, _ in pairs):6.1f} ms for 4 hooves, "
                f"ratio to the closed form {median(ratios):.3f} (from {ratios[0]:.3f} to {ratios[-1]:.3f})"
            )


if __name__ == "__main__":
    main()
