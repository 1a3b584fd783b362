"""Bulk matching: 1,000,000 hooves × 50 boot models of 7 sizes, against plain Python and a range join in SQL.

Plain Python does the same work, hoof by hoof and size by size: the same series with as many terms, for the best size
of every boot model and its fit chance. It also does less: asks of every size whether the reading lies in its range,
as the range join in SQL does too. Whatever would take too long is measured on fewer hooves, and their number told.
Times are processor time of one core; PostgreSQL's is elapsed time, since it runs in a process of its own.
"""

import asyncio
import resource
import sqlite3
import tempfile
from math import erfc, exp, pi, sqrt
from pathlib import Path
from time import perf_counter, process_time

import asyncpg  # type: ignore[import-untyped]
import numpy as np
from tests.postgresql_server import WAYS, CannotStart

from hooflast.fit.boot import Closure
from hooflast.fit.bulk import ERROR, NO_SIZE, NODES_WITHIN, Believed, match_in_bulk
from hooflast.fit.chances import ACCEPTED, preference
from hooflast.fit.estimate import Estimate, estimates_if_read
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.series import terms_needed
from hooflast.fit.sizes import BootChart, SizeTable, size_table

HOOVES, BOOTS, SIZES = 1_000_000, 50, 7
PYTHON_HOOVES, RANGE_HOOVES, SQL_HOOVES = 10, 2_000, 20_000
JOIN = """SELECT count(*), sum(best) FROM (
    SELECT hooves.id, sizes.boot, min(sizes.id) AS best FROM hooves JOIN sizes
    ON hooves.width BETWEEN sizes.width_low AND sizes.width_high
    AND hooves.length BETWEEN sizes.length_low AND sizes.length_high
    GROUP BY hooves.id, sizes.boot) AS found"""
TABLES = (
    """CREATE TABLE sizes (id integer PRIMARY KEY, boot integer, width_low float, width_high float,
    length_low float, length_high float)""",
    "CREATE TABLE hooves (id integer PRIMARY KEY, width float, length float)",
    "CREATE INDEX by_width ON sizes (width_low, width_high)",
)


def catalog() -> SizeTable:
    """Boot models around ordinary hooves, of every closure, a little narrow or wide."""
    rng = np.random.default_rng(5)
    charts = []
    for number in range(BOOTS):
        step, ratio, first = rng.integers(5, 9), rng.uniform(0.92, 1.08), rng.integers(90, 125)
        widths = [(float(first + size * step), float(first + (size + 1) * step - 1)) for size in range(SIZES)]
        lengths = [(low / ratio, high / ratio) for low, high in widths]
        charts.append(BootChart(closure=list(Closure)[number % 7], widths_mm=widths, lengths_mm=lengths))
    return size_table(charts)


def drawn() -> dict[str, Floats]:
    """Hooves from the engine's own prior: as they are, no two alike, and read to whole millimetres."""
    kind = population(AnimalType.HORSE, limb=Limb.LF)
    hooves = np.random.default_rng(6).multivariate_normal(kind.mean, kind.covariance, HOOVES)
    hooves = np.clip(hooves, 60.0, 220.0)
    return {"no two alike": hooves, "whole millimetres": np.round(hooves)}


def as_read_by(observer: Observer) -> Believed:
    """What is believed of hooves taped by somebody."""
    origin = AxisReading(values_mm=(0.0,))
    reading = HoofReading(limb=Limb.LF, width=origin, length=origin, method=Method.TAPE, observer=observer)
    return lambda read_mm: estimates_if_read(reading, animal_type=AnimalType.HORSE, changes_mm=read_mm)


def in_plain_python(estimate: Estimate, table: SizeTable, *, terms: int) -> tuple[list[tuple[int, float]], float]:
    """The best size of every boot model and its fit chance, and the seconds it took from lists."""
    parts = list(zip(estimate.weights.tolist(), estimate.means.tolist(), estimate.covariances.tolist(), strict=True))
    edges, spreads = table.edges_mm.tolist(), table.edge_sd_mm.tolist()
    first = table.first.tolist()
    preferred = [preference(closure).tolist() for closure in table.closures]
    accepted = ACCEPTED.tolist()
    begun = process_time()
    found = []
    for boot in range(len(preferred)):
        best = (-1.0, -1, 0.0)
        for size in range(first[boot], first[boot + 1]):
            worth = fits = 0.0
            for weight, mean, covariance in parts:
                axes = [
                    along(mean[axis], covariance[axis][axis], edges[size][axis], spreads[size][axis], terms)
                    for axis in (0, 1)
                ]
                worth += weight * product(axes, covariance[0][1], preferred[boot])
                fits += weight * product(axes, covariance[0][1], accepted)
            best = max(best, (worth, size, fits), key=lambda each: each[0])
        found.append(best[1:])
    return found, process_time() - begun


def along(mean: float, variance: float, edges: list[float], spreads: list[float], terms: int) -> list[list[float]]:
    """The terms of the series at each edge of one axis."""
    rows = []
    for edge, spread in zip(edges, spreads, strict=True):
        wide = sqrt(variance + spread * spread)
        h = (mean - edge) / wide
        before, now = 0.0, exp(-0.5 * h * h) / (wide * sqrt(2.0 * pi))
        row = [0.5 * erfc(-h / sqrt(2.0)), now]
        for term in range(1, terms):
            before, now = now, h / wide * now - (term - 1) / (wide * wide) * before
            row.append(now)
        rows.append(row)
    return rows


def product(axes: list[list[list[float]]], shared: float, steps: list[float]) -> float:
    total, factor = 0.0, 1.0
    for term in range(len(axes[0][0])):
        width, length = (sum(step * row[term] for step, row in zip(steps, rows, strict=True)) for rows in axes)
        total += factor * width * length
        factor *= shared / (term + 1)
    return total


def ranges(table: SizeTable) -> list[tuple[int, int, float, float, float, float]]:
    """Each size with its boot model and where it accepts at least half of the boots."""
    return [
        (size, int(boot), *table.edges_mm[size, 0, [0, 3]].tolist(), *table.edges_mm[size, 1, [0, 3]].tolist())
        for size, boot in enumerate(table.boot_of)
    ]


def by_range_in_python(hooves: list[list[float]], sizes: list[tuple[int, int, float, float, float, float]]) -> float:
    begun = process_time()
    for width, length in hooves:
        found: dict[int, int] = {}
        for size, boot, width_low, width_high, length_low, length_high in sizes:
            if width_low <= width <= width_high and length_low <= length <= length_high:
                found.setdefault(boot, size)
    return process_time() - begun


def in_sqlite(hooves: list[list[float]], sizes: list[tuple[int, int, float, float, float, float]]) -> float:
    with sqlite3.connect(":memory:") as database:
        for statement in TABLES:
            database.execute(statement)
        database.executemany("INSERT INTO sizes VALUES (?, ?, ?, ?, ?, ?)", sizes)
        database.executemany("INSERT INTO hooves VALUES (?, ?, ?)", [(n, *hoof) for n, hoof in enumerate(hooves)])
        database.execute("ANALYZE")
        begun = process_time()
        database.execute(JOIN).fetchone()
        return process_time() - begun


async def in_postgresql(
    url: str, *, hooves: list[list[float]], sizes: list[tuple[int, int, float, float, float, float]]
) -> float:
    database = await asyncpg.connect(url.replace("postgresql+asyncpg", "postgresql"))
    try:
        for statement in TABLES:
            await database.execute(statement.replace("CREATE TABLE", "CREATE TEMPORARY TABLE"))
        await database.copy_records_to_table("sizes", records=sizes)
        await database.copy_records_to_table("hooves", records=[(n, *hoof) for n, hoof in enumerate(hooves)])
        await database.execute("ANALYZE")
        await database.execute("SET max_parallel_workers_per_gather = 0")
        begun = perf_counter()
        await database.fetchrow(JOIN)
        return perf_counter() - begun
    finally:
        await database.close()


def postgresql(hooves: list[list[float]], sizes: list[tuple[int, int, float, float, float, float]]) -> float | None:
    """Seconds on whatever PostgreSQL this machine has; None where there is none."""
    with tempfile.TemporaryDirectory() as folder:
        for way in WAYS:
            try:
                server = way(Path(folder))
            except CannotStart:
                continue
            try:
                return asyncio.run(in_postgresql(server.url, hooves=hooves, sizes=sizes))
            finally:
                server.stop()
    return None


def by_hoof(hooves: Floats, *, table: SizeTable, believed: Believed) -> float:
    """Hooves per second in plain Python, its answers held against ours."""
    few = believed(hooves)
    (ours,) = match_in_bulk(hooves, table=table, believed=believed)
    terms = terms_needed(few, within=NODES_WITHIN)
    spent = 0.0
    for row, estimate in enumerate(few.apart()):
        found, seconds = in_plain_python(estimate, table, terms=terms)
        spent += seconds
        apart = np.abs(np.array([chance for _, chance in found]) - ours.fit_chance[row])
        assert np.max(apart[ours.best[row] != NO_SIZE], initial=0.0) <= ERROR
    return len(hooves) / spent


def main() -> None:
    table, kinds = catalog(), drawn()
    sizes = ranges(table)
    print(f"{len(sizes)} sizes of {BOOTS} boot models; hooves per second of one core")
    rates = {}
    for observer in Observer:
        believed = as_read_by(observer)
        for kind, hooves in kinds.items():
            begun = process_time()
            fitting = sum(
                int(np.sum(found.fit_chance >= 0.5)) for found in match_in_bulk(hooves, table=table, believed=believed)
            )
            rate = HOOVES / (process_time() - begun)
            rates[f"{observer.value}, {kind}"] = rate
            print(f"  by {observer.value}, {kind:18} {rate:12,.0f} ({HOOVES:,} hooves, {fitting:,} likely fits)")
        plain = by_hoof(kinds["no two alike"][:PYTHON_HOOVES], table=table, believed=believed)
        times = ", ".join(f"{rates[f'{observer.value}, {kind}'] / plain:,.0f} times ({kind})" for kind in kinds)
        print(f"    the same in plain Python      {plain:12,.1f} ({PYTHON_HOOVES} hooves): ours {times}")
    print(f"  peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MiB")
    some = kinds["whole millimetres"].tolist()
    others = {
        "range rule in plain Python": (RANGE_HOOVES, by_range_in_python(some[:RANGE_HOOVES], sizes)),
        "range join in SQLite": (SQL_HOOVES, in_sqlite(some[:SQL_HOOVES], sizes)),
        "range join in PostgreSQL": (SQL_HOOVES, postgresql(some[:SQL_HOOVES], sizes)),
    }
    for name, (count, seconds) in others.items():
        if seconds is None:
            print(f"  {name:28} no server here")
        else:
            times = ", ".join(f"{ours * seconds / count:,.1f} times ({kind})" for kind, ours in rates.items())
            print(f"  {name:28} {count / seconds:12,.0f} ({count:,} hooves, no chances): ours {times}")


if __name__ == "__main__":
    main()
