"""Laying apart: a catalog release laid out without holding up what a service does meanwhile.

A large one is laid out by a process of low priority. Its arrays are handed over in memory that both see, so that
nothing is copied; its boot models are read here, a little at a time.
"""

import asyncio
import gc
import mmap
import os
import sys
import tempfile
import time
from asyncio.subprocess import PIPE, Process
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from typing import IO, Final

from hooflast.catalog.asking import child_environment
from hooflast.catalog.release import read_again, read_release
from hooflast.errors import CatalogUnavailable
from hooflast.fit.layout import Layout
from hooflast.matching.layout_process import read_layout
from hooflast.matching.shelf import Shelf, lay_out, shelf_of

AT_ONCE_BYTES: Final = 300_000
"""A release written in so few bytes, some 2,000 sizes, is laid out here: in the time that a process takes to start."""

LONGEST_SECONDS: Final = 600.0
"""A process of low priority on a busy machine may take many times the seconds that the work takes."""

PAUSE_SECONDS: Final = 0.004
"""Between slices of a millisecond each, so that requests have four fifths of the time."""

COMMAND: Final = (sys.executable, "-m", "hooflast.matching.layout_process")


async def lay_out_apart(written: bytes, *, seconds: float = LONGEST_SECONDS) -> Shelf:
    """The shelf of a release as `write_release` wrote it. Raises InputRefused and CatalogUnavailable."""
    if len(written) <= AT_ONCE_BYTES:
        return await asyncio.to_thread(lambda: lay_out(read_release(written)))
    layout = await _laid_out(written, seconds=seconds)
    return await asyncio.to_thread(_unhurried, written, layout=layout)


async def _laid_out(written: bytes, *, seconds: float) -> Layout:
    """The layout, by a process of its own that has so many seconds."""
    try:
        with _shared_memory() as memory:
            process = await asyncio.create_subprocess_exec(
                *COMMAND, stdin=PIPE, stdout=memory, stderr=PIPE, env=child_environment()
            )
            await _finish(process, written, seconds=seconds)
            return read_layout(memoryview(mmap.mmap(memory.fileno(), 0, access=mmap.ACCESS_READ)))
    except OSError as error:
        raise CatalogUnavailable(reason=f"laying it out: {error}") from error


async def _finish(process: Process, written: bytes, *, seconds: float) -> None:
    """Hand the release over and wait; whatever ends the waiting ends the process too."""
    try:
        _, told = await asyncio.wait_for(process.communicate(written), timeout=seconds)
    except TimeoutError:
        raise CatalogUnavailable(reason=f"laying it out took longer than {seconds:g} s") from None
    finally:
        if process.returncode is None:
            process.kill()
            await process.wait()
    if process.returncode:
        last = told.decode("utf-8", "replace").strip().rpartition("\n")[2]
        raise CatalogUnavailable(reason=f"laying it out ended with {process.returncode}: {last}")


def _shared_memory() -> IO[bytes]:
    """A file that is nowhere but in memory, where the system has such; else one without a name."""
    if sys.platform != "linux":
        return tempfile.TemporaryFile()
    return os.fdopen(os.memfd_create("hooflast-layout"), "r+b")


def _unhurried(written: bytes, *, layout: Layout) -> Shelf:
    """The shelf of a release that was read elsewhere already, with pauses for other threads."""
    with _many_that_stay():
        release = read_again(written, between=partial(time.sleep, PAUSE_SECONDS))
        return shelf_of(release, layout=layout)


@contextmanager
def _many_that_stay() -> Iterator[None]:
    """Hundreds of thousands of values are made here that stay and hold no cycles: the collector leaves them alone.

    It would look through all there is, several times, and stop every thread for a third of a second each time.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
        gc.freeze()
    finally:
        if was_enabled:
            gc.enable()
