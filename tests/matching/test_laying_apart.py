"""Laying apart: a process of its own makes the shelf that is made here, and what becomes of it ends only its own."""

import asyncio
import gc
import io
import os
import sys
from collections.abc import AsyncIterator
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest
from hypothesis import given
from structlog.testing import capture_logs
from tests.api.samples import NEWER, NOW, OLDER
from tests.catalog.strategies import bounded, in_one_file
from tests.catalog.strategies import records as editions
from tests.matching.worlds import BOOTS, TODAY, boot, question, release_of

from hooflast.api.catalog_watch import look
from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.reading import read_files
from hooflast.catalog.release import SLICE, compose_release, read_again, write_release
from hooflast.errors import CatalogUnavailable
from hooflast.fit.layout import Layout
from hooflast.matching import laying_apart
from hooflast.matching.laying_apart import lay_out_apart
from hooflast.matching.layout_process import ALIGNMENT, read_layout, write_layout
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.match_horse import match_horse
from hooflast.matching.publishing import publish_new
from hooflast.matching.shelf import Shelf, lay_out
from hooflast.store import Store, open_store

pytestmark = pytest.mark.anyio
ROOMY: Final = 1_000_000_000
RELEASE: Final = release_of(*BOOTS, *(boot(f"moor-{number}") for number in range(2 * SLICE)))
WRITTEN: Final = write_release(RELEASE)


@pytest.fixture
def apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """However small a release, a process of its own lays it out."""
    monkeypatch.setattr(laying_apart, "AT_ONCE_BYTES", 0)


@pytest.fixture
async def store(anyio_backend: str, sqlite_url: str) -> AsyncIterator[Store]:
    async with open_store(sqlite_url) as opened:
        yield opened


def run_instead(monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    """Let another program take the place of the layout process."""
    monkeypatch.setattr(laying_apart, "COMMAND", (sys.executable, "-c", program))


def arrays_of(layout: Layout) -> dict[str, Any]:
    of_table = {name: getattr(layout.table, name) for name in ("edges_mm", "edge_sd_mm", "near_mm", "near_sd_mm")}
    rest = {"has_axis": layout.table.has_axis, "first": layout.table.first}
    (part,) = layout.worth
    worth = {name: getattr(part, name) for name in ("data", "indices", "indptr")} | {"columns": layout.columns}
    return of_table | rest | worth


def assert_alike(one: Shelf, other: Shelf) -> None:
    """Equal in everything; arrays to the last bit."""
    for name in ("release", "boots", "sizes", "accessories", "size_days", "none_in_sale"):
        assert getattr(one, name) == getattr(other, name), name
    assert one.table.closures == other.table.closures
    assert one.layout.worth[0].shape == other.layout.worth[0].shape
    for name, array in arrays_of(one.layout).items():
        assert np.array_equal(array, arrays_of(other.layout)[name]), name


@pytest.mark.full
async def test_a_process_of_its_own_makes_the_shelf_that_is_made_here(apart: None) -> None:
    shelf = await lay_out_apart(WRITTEN)
    here = lay_out(RELEASE)
    assert_alike(shelf, here)
    asked = question()
    told, told_here = (match_horse(asked, one, today=TODAY, language="en") for one in (shelf, here))
    assert told == told_here


async def test_a_small_one_is_laid_out_without_a_process(monkeypatch: pytest.MonkeyPatch) -> None:
    run_instead(monkeypatch, "raise SystemExit(1)")
    assert len(WRITTEN) <= laying_apart.AT_ONCE_BYTES
    assert_alike(await lay_out_apart(WRITTEN), lay_out(RELEASE))


@bounded
@given(editions())
def test_what_is_read_again_is_what_was_written(edition: dict[str, Any]) -> None:
    release = compose_release(
        read_files(in_one_file(edition), plugin="demo"), released_on=date(2026, 3, 1), note="Spring."
    )
    back = read_again(write_release(release), between=lambda: None)
    assert (back, list(back.boots)) == (release, list(release.boots))


def test_reading_again_pauses_after_every_slice() -> None:
    pauses: list[None] = []
    read_again(WRITTEN, between=lambda: pauses.append(None))
    assert len(pauses) == len(RELEASE.boots) // SLICE == 2


def test_a_layout_written_and_read_keeps_its_arrays_where_they_are_and_in_line() -> None:
    layout = lay_out(RELEASE).layout
    file = io.BytesIO()
    write_layout(layout, file)
    written = file.getvalue()
    back = read_layout(memoryview(written))
    for name, array in arrays_of(layout).items():
        there = arrays_of(back)[name]
        assert np.array_equal(there, array)
        assert not there.flags.owndata or there.size == 0
        assert not there.flags.writeable
    assert len(written) % ALIGNMENT == 0


@pytest.mark.parametrize(
    ("program", "reason"),
    [
        ("import os, signal; os.kill(os.getpid(), signal.SIGKILL)", "-9"),
        ("raise MemoryError('no room left')", "no room left"),
        ("import sys; sys.stdin.read(); sys.stdout.write('x' * 9); sys.exit(3)", "ended with 3"),
    ],
)
async def test_a_process_that_dies_is_told_with_how_it_ended(
    apart: None, monkeypatch: pytest.MonkeyPatch, *, program: str, reason: str
) -> None:
    run_instead(monkeypatch, program)
    with pytest.raises(CatalogUnavailable, match=reason):
        await lay_out_apart(WRITTEN)


async def test_a_process_that_hangs_is_ended_and_told(apart: None, monkeypatch: pytest.MonkeyPatch) -> None:
    run_instead(monkeypatch, "import time; time.sleep(600)")
    with pytest.raises(CatalogUnavailable, match=r"longer than 0\.01 s"):
        await lay_out_apart(WRITTEN, seconds=0.01)


async def test_a_process_that_cannot_start_is_told(apart: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(laying_apart, "COMMAND", ("/nowhere/python",))
    with pytest.raises(CatalogUnavailable, match="nowhere"):
        await lay_out_apart(WRITTEN)


@pytest.mark.full
async def test_a_damaged_release_is_told_and_not_laid_out(apart: None) -> None:
    with pytest.raises(CatalogUnavailable, match="catalog-release-id"):
        await lay_out_apart(WRITTEN.replace(b"moor-7", b"moor-x", 1))


async def test_nobody_waiting_any_more_ends_the_process(
    apart: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    begun = tmp_path / "pid"
    os.mkfifo(begun)
    program = f"import os, time; open({str(begun)!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    run_instead(monkeypatch, program)
    laying = asyncio.create_task(lay_out_apart(WRITTEN))
    process = int(await asyncio.to_thread(begun.read_text))
    laying.cancel()
    with pytest.raises(asyncio.CancelledError):
        await laying
    with pytest.raises(ProcessLookupError):
        os.kill(process, 0)


async def test_what_was_served_is_served_on_until_another_look_succeeds(
    apart: None, monkeypatch: pytest.MonkeyPatch, store: Store
) -> None:
    catalog, signature = LiveCatalog(store.releases, most_bytes=ROOMY), Signature(by="mossgate", at=NOW)
    await publish_new([OLDER], releases=store.releases, signature=signature)
    with monkeypatch.context() as at_once:
        at_once.setattr(laying_apart, "AT_ONCE_BYTES", ROOMY)
        await look(catalog)
    await publish_new([NEWER], releases=store.releases, signature=signature)
    with monkeypatch.context() as dying, capture_logs() as told:
        run_instead(dying, "raise SystemExit(1)")
        await look(catalog)
    assert [(event["event"], event["log_level"]) for event in told] == [("catalog not taken up", "warning")]
    assert catalog.active.release == OLDER
    monkeypatch.setattr(laying_apart, "AT_ONCE_BYTES", ROOMY)
    await look(catalog)
    assert catalog.active.release == NEWER


async def test_many_who_ask_at_once_wait_for_one_process(
    apart: None, monkeypatch: pytest.MonkeyPatch, store: Store, tmp_path: Path
) -> None:
    started = tmp_path / "started"
    run_instead(monkeypatch, f"open({str(started)!r}, 'a').write('x'); raise SystemExit(1)")
    await publish_new([OLDER], releases=store.releases, signature=Signature(by="mossgate", at=NOW))
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    refused = await asyncio.gather(*(catalog.answered_from(OLDER.id) for _ in range(20)), return_exceptions=True)
    assert {type(one) for one in refused} == {CatalogUnavailable}
    assert started.read_text() == "x"


def test_the_collector_runs_on_whatever_happens(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError

    assert gc.isenabled()
    monkeypatch.setattr(laying_apart, "read_again", fail)
    with pytest.raises(RuntimeError):
        laying_apart._unhurried(WRITTEN, layout=lay_out(RELEASE).layout)
    assert gc.isenabled()
