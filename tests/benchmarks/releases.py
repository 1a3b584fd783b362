"""The life of a large catalog release, stage by stage: 5,000 boot models × 12 sizes, from files to being served.

Reading against decoding the same JSON with msgspec and doing nothing else. Times are processor time of one process;
publishing is told in wall-clock time, too, as it is what others would wait for.
"""

import asyncio
import json
import tempfile
from collections.abc import Awaitable, Callable
from datetime import date
from pathlib import Path
from time import perf_counter, process_time
from typing import Any, TypeVar

import msgspec
from tests.store.samples import NOW

from hooflast.catalog.doubts import find_doubts
from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.reading import Records, read_files
from hooflast.catalog.release import compose_release, read_release, write_release
from hooflast.catalog.values import CatalogRelease
from hooflast.matching.shelf import lay_out
from hooflast.store import migrations, open_store

BOOTS, SIZES, FILES = 5000, 12, 20
SIGNATURE = Signature(by="benchmark", at=NOW)

Answer = TypeVar("Answer")


def files(*, wider_mm: int, boots: int = BOOTS) -> list[CatalogFile]:
    """The catalog files of one edition, one maker a file."""
    made = []
    for number in range(FILES):
        made_here = [_boot(place, maker=f"maker-{number}", wider_mm=wider_mm) for place in range(boots // FILES)]
        makers = [{"id": f"maker-{number}", "name": "M"}]
        content = {"format": "hooflast-catalog-1", "makers": makers, "boots": made_here}
        written = json.dumps(content).encode()
        made.append(CatalogFile(source=f"{number}.json", retrieved_on=NOW.date(), content=written))
    return made


def _boot(place: int, *, maker: str, wider_mm: int) -> dict[str, Any]:
    lows = [88 + place % 20 + 7 * size for size in range(SIZES)]
    return {
        "id": f"{maker}-{place}", "maker": maker, "name": f"Boot {place}", "closure": "strap", "shape": "round",
        "limbs": "all", "animal_types": ["horse", "pony"], "intended_uses": ["hacking", "road"], "sold_as": "single",
        "chart_unit": "mm", "chart_step": 1,
        "sizes": [
            {"code": f"size-{size}", "width": [low, low + 6 + wider_mm], "length": [low + 2, low + 8]}
            for size, low in enumerate(lows)
        ],
    }  # fmt: skip


def timed(name: str, work: Callable[[], Answer]) -> Answer:
    """What `work` gives, with its processor time told."""
    began = process_time()
    answer = work()
    print(f"{name:24}{process_time() - began:8.2f} s")
    return answer


async def timed_waiting(name: str, work: Awaitable[Answer]) -> Answer:
    """The same for what is waited for, in both times."""
    began, cpu_began = perf_counter(), process_time()
    answer = await work
    print(f"{name:24}{process_time() - cpu_began:8.2f} s{(perf_counter() - began) * 1000:10.1f} ms of the clock")
    return answer


def composed(records: Records, *, day: int) -> CatalogRelease:
    return compose_release(records, released_on=date(2026, 3, day), note="")


async def through_the_store(old: CatalogRelease, new: CatalogRelease) -> None:
    """Both published, the second one stage by stage."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'benchmark.sqlite3'}"
        await migrations.upgrade(url)
        async with open_store(url) as store:
            await store.releases.stage(write_release(old), signature=SIGNATURE)
            await store.releases.mark_checked(old.id, report=b"", signature=SIGNATURE)
            await store.releases.publish(old.id, signature=SIGNATURE)
            written = write_release(new)
            await timed_waiting("stage", store.releases.stage(written, signature=SIGNATURE))
            checked = store.releases.mark_checked(new.id, report=b"", signature=SIGNATURE)
            await timed_waiting("mark checked", checked)
            await timed_waiting("publish", store.releases.publish(new.id, signature=SIGNATURE))
            await timed_waiting("ask what is active", store.releases.active())
            await timed_waiting("read from the store", store.releases.read(new.id))
            await timed_waiting("roll back", store.releases.roll_back(signature=SIGNATURE))


def main() -> None:
    """Every stage in its order."""
    print(f"{BOOTS} boot models × {SIZES} sizes")
    old = composed(read_files(files(wider_mm=0), plugin="benchmark"), day=1)
    edition = files(wider_mm=1)
    records = timed("read and validate files", lambda: read_files(edition, plugin="benchmark"))
    new = timed("compose with its id", lambda: composed(records, day=2))
    written = timed("write", lambda: write_release(new))
    print(f"{'':24}{len(written) / 1e6:8.2f} MB")
    timed("decode alone (msgspec)", lambda: msgspec.json.decode(written))
    timed("read with its id", lambda: read_release(written))
    timed("compare, find doubts", lambda: find_doubts(new, active=old))
    asyncio.run(through_the_store(old, new))
    timed("lay out for matching", lambda: lay_out(new))


if __name__ == "__main__":
    main()
