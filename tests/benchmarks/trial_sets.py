"""Trial sets: the solver against greedy choice, by number of sizes, on drawn horses and the demo catalog.

For each number of sizes the share served by the solver's and by the greedy choice, the bound that is known without the
solver, and the time of each; both run in turns on the same demand.
"""

from statistics import median
from time import perf_counter

import numpy as np

from hooflast.catalog.loading import load_catalog
from hooflast.fit.covering import Effort, most_share, share_ceilings
from hooflast.fit.demand import Counting, Demand, demand
from hooflast.fit.greedy import take_greedily
from hooflast.fit.herd import Kind, drawn_herd
from hooflast.fit.hoof import AnimalType
from hooflast.fit.serving import serving_chances
from hooflast.fit.trial_set import nothing_given, trial_set
from hooflast.matching.shelf import lay_out

HORSES, ROUNDS = 512, 3
NUMBERS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)
THRESHOLD, SHARES = 0.5, (0.5, 0.7, 0.8, 0.9)
EFFORT = Effort(nodes=2_000, seconds=30.0)


def asked(counting: Counting) -> Demand:
    """The demand of drawn horses among all sizes of the demo catalog."""
    table = lay_out(load_catalog().library.active).table
    herd = drawn_herd([Kind(animal_type=AnimalType.HORSE)], horses_per_kind=HORSES)
    return demand(
        serving_chances([hoof.estimate for hoof in herd.hooves], table),
        horse_of=np.array([hoof.horse for hoof in herd.hooves]),
        horse_weights=herd.horse_weights,
        threshold=THRESHOLD,
        counting=counting,
    )


def compare_numbers(wanted: Demand) -> None:
    """The best share found for each number of sizes."""
    sizes = wanted.wants.shape[1]
    greedy = take_greedily(wanted, at_most=max(NUMBERS))
    print("   sizes   solver   greedy   lost   bound without solver, of one LP   solver s   greedy s")
    for number in NUMBERS:
        times: list[tuple[float, float]] = []
        share = bound = 0.0
        for _ in range(ROUNDS):
            begun = perf_counter()
            solved = most_share(wanted, costs=np.ones(sizes), budget=number, effort=EFFORT)
            between = perf_counter()
            take_greedily(wanted, at_most=number)
            times.append((between - begun, perf_counter() - between))
            share = 0.0 if solved.chosen is None else wanted.share(solved.chosen)
            bound = solved.bound
        mark = " " if bound <= share + 1e-6 else "*"
        taken = float(greedy.shares[min(number, len(greedy.order))])
        ceiling = float(share_ceilings(wanted, at=number, counts=np.array([float(number)]))[0])
        slow, fast = (median(one[place] for one in times) for place in (0, 1))
        print(
            f"   {number:5}   {share:6.4f}{mark}  {taken:6.4f}   {share - taken:6.4f}   {greedy.bounds[number]:10.4f}"
            f"   {ceiling:17.4f}   {slow:8.3f}   {fast:8.3f}"
        )


def compare_shares(wanted: Demand) -> None:
    """The fewest sizes found for each share of what can be served."""
    given = nothing_given(wanted.wants.shape[1])
    print("   share of what can be served: sizes by the solver (at least), by greedy choice")
    for share in SHARES:
        wished = share * wanted.attainable
        solved, greedy = (trial_set(wanted, share=wished, given=given, effort=effort) for effort in (EFFORT, None))
        print(f"   {share:4.0%}: {solved.cost:3.0f} ({solved.least_cost:.0f}), {greedy.cost:3.0f}")


def main() -> None:
    for counting in Counting:
        wanted = asked(counting)
        print(
            f"{HORSES} horses, counting {counting.value}: {len(wanted.wants)} wants among {wanted.wants.shape[1]} sizes"
        )
        compare_numbers(wanted)
        compare_shares(wanted)


if __name__ == "__main__":
    main()
