"""Matching against evaluating every size: 4 hooves × 1,000 boot models × 8 sizes, the top 10 for each hoof.

Every size is evaluated in two ways: in closed form over all pairs of its edges, and by the series along its edges.
Times are processor time of one process.
"""

from statistics import median
from time import process_time

import numpy as np

from hooflast.fit.boot import Closure
from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.layout import Layout, lay_out_sizes
from hooflast.fit.match import match_hoof
from hooflast.fit.normal import Floats
from hooflast.fit.series import expected_worths
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
    begun = process_time()
    for estimate in estimates:
        match_hoof(estimate, layout, boots=boots, wish_rank=wishes, at_most=TOP)
    return process_time() - begun


def closed_form_everywhere(table: SizeTable, *, estimates: list[Estimate]) -> float:
    """Seconds to evaluate every size's expected worth in closed form and take the best boot models."""
    steps = preferred(table)
    begun = process_time()
    for estimate in estimates:
        corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        take_top(expected_worth(corners, steps=steps), table=table)
    return process_time() - begun


def series_everywhere(table: SizeTable, *, estimates: list[Estimate]) -> float:
    """The same by the series."""
    steps = preferred(table)[None]
    begun = process_time()
    for estimate in estimates:
        (worth,) = expected_worths(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm, steps=steps)
        take_top(worth, table=table)
    return process_time() - begun


def preferred(table: SizeTable) -> Floats:
    return np.array([preference(closure) for closure in table.closures])[table.boot_of]


def take_top(worth: Floats, *, table: SizeTable) -> None:
    best = np.maximum.reduceat(worth, table.first[:-1])
    np.argpartition(-best, TOP)[:TOP]


def main() -> None:
    for observer in Observer:
        estimates = hooves(observer)
        print(f"readings by {observer.value}, parts of the mixture: {len(estimates[0].weights)}")
        whole = 0.0
        for near in (1.0, 0.5, 0.25, 0.05):
            table = catalog(near=near)
            layout = lay_out_sizes(table)
            rounds = [
                (
                    ranked(layout, estimates=estimates),
                    closed_form_everywhere(table, estimates=estimates),
                    series_everywhere(table, estimates=estimates),
                )
                for _ in range(ROUNDS)
            ]
            ours = median(each[0] for each in rounds)
            whole = whole or ours
            closed, series = (sorted(each[0] / each[way] for each in rounds) for way in (1, 2))
            print(
                f"  {near:4.0%} of boot models near: {1000 * ours:6.1f} ms for 4 hooves, "
                f"{ours / whole:.2f} of all near; ratio to the closed form {median(closed):.3f} "
                f"(from {closed[0]:.3f} to {closed[-1]:.3f}), "
                f"to the series {median(series):.3f} (from {series[0]:.3f} to {series[-1]:.3f})"
            )


if __name__ == "__main__":
    main()
