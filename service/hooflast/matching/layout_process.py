"""Layout process: lays out one catalog release, in a process of its own. Started by `laying_apart`, not by hand.

Standard input holds the release as `write_release` wrote it. Standard output gets its layout in parts, each behind its
length and each beginning at a multiple of ALIGNMENT bytes: first the layout pickled without its arrays, then those.
"""

import os
import pickle
import sys
from struct import Struct
from typing import IO, Final

from threadpoolctl import threadpool_limits

from hooflast.catalog.release import read_release
from hooflast.fit.layout import Layout
from hooflast.matching.shelf import layout_of

NICE: Final = 10
"""Beside what would fill a core by itself, a process this nice has a tenth of it (Linux)."""

ALIGNMENT: Final = 64
_LENGTH: Final = Struct("<Q")


def main() -> None:
    """Lay out the one release that standard input holds."""
    if sys.platform != "win32":
        os.nice(NICE)
    threadpool_limits(1)
    write_layout(layout_of(read_release(sys.stdin.buffer.read())), sys.stdout.buffer)


def write_layout(layout: Layout, file: IO[bytes]) -> None:
    """Write a layout for `read_layout`."""
    arrays: list[pickle.PickleBuffer] = []
    head = pickle.dumps(layout, protocol=5, buffer_callback=arrays.append)
    for part in (memoryview(head), *(array.raw() for array in arrays)):
        file.write(_LENGTH.pack(part.nbytes).ljust(ALIGNMENT, b"\0"))
        file.write(part)
        file.write(bytes(-part.nbytes % ALIGNMENT))
    file.flush()


def read_layout(written: memoryview) -> Layout:
    """A layout as `write_layout` wrote it, of this program's own making; its arrays stay where they are."""
    parts, place = [], 0
    while place < len(written):
        (length,) = _LENGTH.unpack_from(written, place)
        place += ALIGNMENT
        parts.append(written[place : place + length])
        place += length + -length % ALIGNMENT
    layout: Layout = pickle.loads(parts[0], buffers=parts[1:])  # noqa: S301
    return layout


if __name__ == "__main__":
    main()
