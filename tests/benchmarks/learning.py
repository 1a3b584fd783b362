"""Learning from outcomes: do intervals hold the truth, is the right boot model proposed, and how time goes.

Each repetition draws a truth from the priors (or sets it), sells recommended sizes alone to hooves of the population by
two ways of reading, and learns from what comes back. With a truth drawn from the priors, 95 % of the 95 % intervals are
to hold it. Times are processor times, as ratios to one evaluation
of the likelihood of the same outcomes.
"""

import sys
from collections.abc import Iterator
from time import process_time
from typing import Final, NamedTuple

import numpy as np
from tests.fit.selling import CLINIC, WEB, Shop
from tests.fit.strategies import ladder

from hooflast.fit.boot import Closure
from hooflast.fit.evidence import Bar, evidence, hold_out, reliability
from hooflast.fit.learned import Learned, LearnedAll, learned_all
from hooflast.fit.learning import learn
from hooflast.fit.offset_prior import (
    BIAS_CORRELATION,
    BIAS_SD_MM,
    BOOT_SHARE,
    KEEPING_LOGIT_SD,
    MAKER_SHARE,
    OFFSET_SD_MM,
    SIZE_SHARE,
    Priors,
    design,
)
from hooflast.fit.outcome import USUALLY_KEPT_LOGITS
from hooflast.fit.outcome_chances import log_chances
from hooflast.fit.sale import lay_out_sales
from hooflast.fit.sizes import AXES, size_table

MAKERS: Final = (0, 0, 1, 1, 2, 2)
TABLE: Final = size_table(
    [
        ladder(first=(105.0 + at, 105.0 - at), count=9, closure=closure)
        for at, closure in enumerate((Closure.PULL_ON, Closure.BUCKLE, Closure.STRAP) * 2)
    ]
)
COUNTS: Final = (100, 300, 1000)
REPETITIONS: Final = 40


class Truth(NamedTuple):
    """Offsets of sizes (N, 2), biases of the two groups (2, 2), logits of keeping (3,)."""

    offsets: np.ndarray
    biases: np.ndarray
    logits: np.ndarray


def drawn(generator: np.random.Generator) -> Truth:
    """A truth from the priors."""
    makers, boots, sizes = (
        generator.normal(0.0, OFFSET_SD_MM * np.sqrt(share), size=(count, 2))
        for share, count in ((MAKER_SHARE, 3), (BOOT_SHARE, 6), (SIZE_SHARE, len(TABLE.edges_mm)))
    )
    offsets = makers[np.array(MAKERS)[TABLE.boot_of]] + boots[TABLE.boot_of] + sizes
    shape = np.linalg.cholesky([[1.0, BIAS_CORRELATION], [BIAS_CORRELATION, 1.0]])
    biases = np.array([BIAS_SD_MM[group.method] * shape @ generator.normal(size=2) for group in (CLINIC, WEB)])
    return Truth(offsets, biases, USUALLY_KEPT_LOGITS + KEEPING_LOGIT_SD * generator.normal(size=3))


def one_off(_: np.random.Generator) -> Truth:
    """The first boot model is off by (2, −1), no other; the webshop's readings run high by 1.5."""
    offsets = np.where(TABLE.boot_of[:, None] == 0, (2.0, -1.0), (0.0, 0.0))
    return Truth(offsets, np.array([[0.0, 0.0], [1.5, 1.5]]), USUALLY_KEPT_LOGITS)


def sold(truth: Truth, *, count: int, seed: int):
    biases = {group: tuple(bias) for group, bias in zip((CLINIC, WEB), truth.biases, strict=True)}
    shop = Shop(
        table=TABLE,
        offsets=truth.offsets,
        boots=range(6),
        groups=(CLINIC, WEB),
        biases=biases,
        logits=truth.logits,
    )
    return lay_out_sales(shop.sell(count, seed=seed), TABLE)


def held(found: LearnedAll, truth: Truth, *, sizes: np.ndarray) -> Iterator[tuple[str, bool]]:
    """Whether each interval holds the truth, by what it is of."""
    for boot in found.boots:
        own = sizes[TABLE.boot_of[sizes] == boot.boot]
        for axis, learned in boot.offsets.items():
            yield "boot model", holds(learned, truth.offsets[own, AXES.index(axis)].mean())
        for size, by_axis in boot.sizes.items():
            for axis, learned in by_axis.items():
                yield "size", holds(learned, truth.offsets[size, AXES.index(axis)])
    for place, by_axis in enumerate(found.biases.values()):
        for axis, learned in by_axis.items():
            yield "readings", holds(learned, truth.biases[place, AXES.index(axis)])
    for learned, logit in zip(found.keeping.values(), truth.logits, strict=True):
        yield "keeping", holds(learned, 1.0 / (1.0 + np.exp(-logit)))


def holds(learned: Learned, truth: float) -> bool:
    return learned.low <= truth <= learned.high


def coverage(*, repetitions: int) -> None:
    print("Share of 95 % intervals that hold a truth drawn from the priors")
    for count in COUNTS:
        by_kind: dict[str, list[bool]] = {}
        for seed in range(repetitions):
            truth = drawn(np.random.default_rng(1000 + seed))
            sales = sold(truth, count=count, seed=seed)
            found = learned_all(learn(design(sales, TABLE, makers=MAKERS, priors=Priors())), TABLE)
            for kind, is_held in held(found, truth, sizes=sales.sizes):
                by_kind.setdefault(kind, []).append(is_held)
        told = ", ".join(f"{kind} {np.mean(each):.3f} of {len(each)}" for kind, each in by_kind.items())
        print(f"  {count:5d} outcomes: {told}")


def proposals(*, repetitions: int) -> None:
    print("Boot models over the evidence bar: the one that is off by (2, -1), and the five that are not")
    for count in COUNTS:
        off: list[bool] = []
        right: list[bool] = []
        gains, borne_out = [], []
        for seed in range(repetitions):
            sales = sold(one_off(np.random.default_rng(0)), count=count, seed=seed)
            orders = range(count)
            held_out = hold_out(sales, TABLE, makers=MAKERS, priors=Priors(), orders=orders)
            for boot in range(6):
                rows = np.flatnonzero(TABLE.boot_of[sales.sizes] == boot)
                found = evidence(held_out, sales, rows=rows, orders=orders)
                (right if boot else off).append(found.bar is Bar.OVER)
                if not boot:
                    gains.append(found.gain)
            borne_out.append(reliability(held_out, sales).borne_out)
        print(
            f"  {count:5d} outcomes: off {np.mean(off):.2f}, right {np.mean(right):.2f}; "
            f"its gain {np.mean(gains):+.3f} nats an outcome; chances of keeping borne out {np.mean(borne_out):.2f}"
        )


def times() -> None:
    print("Time, as a multiple of evaluating the likelihood with its derivatives once")
    for count in COUNTS:
        sales = sold(one_off(np.random.default_rng(0)), count=count, seed=0)
        layout = design(sales, TABLE, makers=MAKERS, priors=Priors())
        effects = layout.effects(np.zeros(layout.count))
        start = process_time()
        for _ in range(5):
            log_chances(sales, effects)
        once = (process_time() - start) / 5
        start = process_time()
        learned_all(learn(layout), TABLE)
        fitted = process_time() - start
        start = process_time()
        hold_out(sales, TABLE, makers=MAKERS, priors=Priors(), orders=range(count))
        held_out = process_time() - start
        told = f"fit {fitted / once:.1f}, holding out {held_out / once:.0f}; once: {once * 1e3:.0f} ms"
        print(f"  {count:5d} outcomes: {told}")


def main() -> None:
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else REPETITIONS
    coverage(repetitions=repetitions)
    proposals(repetitions=repetitions)
    times()


if __name__ == "__main__":
    main()
