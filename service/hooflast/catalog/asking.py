"""Asking: one plugin asked for its offer in a process of its own, within limits on time, memory and size.

The limits guard against mistakes: a plugin that raises, hangs, prints, exits or grows. They are no sandbox: it runs
with the rights of this service, though without this service's own settings.
"""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.metadata import EntryPoint
from time import monotonic
from typing import IO, Any, Final, cast

import msgspec

from hooflast.catalog.offers import Offer
from hooflast.catalog.plugin import Held
from hooflast.catalog.plugin_process import Ask, Told
from hooflast.catalog.plugin_settings import hidden
from hooflast.catalog.progress import WorkStopped
from hooflast.errors import PluginFailed

OWN_SETTINGS: Final = "HOOFLAST_"
KEPT_OF_WHAT_IS_PRINTED: Final = 2000
_CHUNK: Final = 65_536
_LOOK_SECONDS: Final = 0.2
"""How often it is looked whether a plugin takes too long, or the asking is to stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How long a plugin may take, how much memory it may use, and how much it may hand over."""

    seconds: float = 60.0
    memory_bytes: int = 2_000_000_000
    offer_bytes: int = 100_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a plugin is asked with: its settings, if any were given, and what was fetched from its sources before."""

    settings: dict[str, Any] | None = None
    held: Mapping[str, Held] = field(default_factory=dict)


def ask_plugin(entry_point: EntryPoint, asked: Asked, *, limits: Limits, stop: threading.Event | None = None) -> Offer:
    """The offer of the plugin behind an entry point, which is not loaded here. Raises PluginFailed.

    Raises WorkStopped, soon, once `stop` is set; the plugin's process is ended then.
    """
    ask = Ask(
        name=entry_point.name,
        value=entry_point.value,
        settings=asked.settings,
        held=asked.held,
        most_memory=limits.memory_bytes,
        cpu_seconds=max(1, round(limits.seconds)),
    )
    written, ended_by, printed = _run(msgspec.msgpack.encode(ask), limits=limits, stop=stop or threading.Event())
    if stop is not None and stop.is_set():
        raise WorkStopped
    heard = _heard(written)
    told = Told(reason=heard.during + ended_by) if ended_by else _told(heard)
    if told.offer is None:
        reason = told.reason + _said(printed)
        raise PluginFailed(plugin=entry_point.name, reason=hidden(reason, secrets=heard.secrets))
    return told.offer


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heard:
    """What a plugin's process wrote: its secrets, in words the step it was in, and its answer if it came to one."""

    secrets: tuple[str, ...]
    during: str
    answer: bytes


def _heard(written: bytes) -> _Heard:
    lines, answering, answer = written.partition(b"\n\n")
    if not answering:
        lines = written[: written.rfind(b"\n") + 1]
    secrets, *steps = lines.splitlines() or [b""]
    during = ""
    if not secrets:
        during = "while it was loaded, "
    elif steps and not answering:
        step, about = msgspec.json.decode(steps[-1], type=tuple[str, str])
        during = f"in `{step}` ({about}), " if about else f"in `{step}`, "
    known = msgspec.json.decode(secrets, type=tuple[str, ...]) if secrets else ()
    return _Heard(secrets=known, during=during, answer=answer)


def _told(heard: _Heard) -> Told:
    try:
        return msgspec.msgpack.decode(heard.answer, type=Told)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return Told(reason=f"{heard.during}its process ended without an answer")


def _run(ask: bytes, *, limits: Limits, stop: threading.Event) -> tuple[bytes, str, bytes]:
    """What the process wrote, what ended it early if anything did, and the end of what it printed."""
    process = subprocess.Popen(
        [sys.executable, "-m", "hooflast.catalog.plugin_process"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=child_environment(),
        start_new_session=True,
    )
    stdin, stdout, stderr = (cast("IO[bytes]", pipe) for pipe in (process.stdin, process.stdout, process.stderr))
    done, late = threading.Event(), threading.Event()

    def end_when_late() -> None:
        ends_at = monotonic() + limits.seconds
        while not done.wait(min(_LOOK_SECONDS, limits.seconds)):
            if monotonic() >= ends_at:
                late.set()
            if late.is_set() or stop.is_set():
                _kill(process)
                return

    alarm = threading.Thread(target=end_when_late, daemon=True)
    printed: list[bytes] = [b""]
    listener = threading.Thread(target=_keep_end, args=(stderr, printed), daemon=True)
    alarm.start()
    listener.start()
    try:
        _hand_over(stdin, ask)
        written, is_whole = _read_up_to(stdout, limits.offer_bytes)
    finally:
        _kill(process)
        process.wait()
        done.set()
        alarm.join()
        listener.join(timeout=1.0)
        for pipe in (stdout, stderr):
            pipe.close()
    ended_by = ""
    if late.is_set():
        ended_by = f"it took longer than {limits.seconds:g} s"
    elif not is_whole:
        ended_by = f"it handed over more than {limits.offer_bytes} bytes"
    return written, ended_by, printed[0]


def child_environment() -> dict[str, str]:
    """This process's environment for one that it starts: without the service's own settings, which hold its secrets."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(OWN_SETTINGS)}
    return {**kept, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}


def _hand_over(pipe: IO[bytes], ask: bytes) -> None:
    try:
        with pipe:
            pipe.write(ask)
    except BrokenPipeError:
        return


def _read_up_to(pipe: IO[bytes], most: int) -> tuple[bytes, bool]:
    """What is written, and whether that is all: it is left off once it is more than `most`."""
    taken = bytearray()
    while chunk := pipe.read(_CHUNK):
        taken += chunk
        if len(taken) > most:
            return bytes(taken), False
    return bytes(taken), True


def _keep_end(pipe: IO[bytes], kept: list[bytes]) -> None:
    try:
        while chunk := pipe.read1(_CHUNK):  # type: ignore[attr-defined]
            kept[0] = (kept[0] + chunk)[-KEPT_OF_WHAT_IS_PRINTED:]
    except ValueError:
        return


def _said(printed: bytes) -> str:
    """The last line that was printed."""
    last = [line for line in printed.decode("utf-8", "replace").splitlines() if line.strip()][-1:]
    return f"; the last it printed was: {last[0].strip()}" if last else ""


def _kill(process: subprocess.Popen[bytes]) -> None:
    """End the process and everything it started."""
    if sys.platform == "win32":
        process.kill()
        return
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except (ProcessLookupError, PermissionError):
        return
