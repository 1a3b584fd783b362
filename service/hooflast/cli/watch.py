"""Watch: the plugins asked again and again, and what is new published, or kept for people to publish."""

import asyncio
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any, Final

import click
import structlog
from rich.console import Console
from rich.text import Text

from hooflast.api.logs import configure_logs
from hooflast.catalog.lifecycle import Eyes
from hooflast.catalog.loading import load_catalog
from hooflast.catalog.naming import short_id
from hooflast.catalog.progress import WorkStopped
from hooflast.cli.complaining import sentence_of
from hooflast.cli.progress import showing
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import signature, signed, store_of
from hooflast.errors import Fact, HooflastError
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.plugin_file import configured_plugins
from hooflast.exchange.validation_document import validation_document
from hooflast.matching.taking_up import TakenUp, TakingUp, take_up
from hooflast.settings import LogFormat
from hooflast.store import Store

SECONDS_OF: Final = {"s": 1, "m": 60, "h": 3600}
SHORTEST: Final = 1
LONGEST: Final = 7 * 24 * 3600
STOPPING_SIGNALS: Final = (signal.SIGINT, signal.SIGTERM)

log = structlog.stdlib.get_logger("hooflast.catalog")


def seconds_of(written: str) -> float:
    """The seconds of `30s`, `5m` or `1h`; a number alone is seconds. Raises ValueError outside 1 s to seven days."""
    number, unit = (written[:-1], written[-1]) if written[-1:] in SECONDS_OF else (written, "s")
    seconds = float(number) * SECONDS_OF[unit]
    if not SHORTEST <= seconds <= LONGEST:
        raise ValueError(written)
    return seconds


class Seconds(click.ParamType[float]):
    """A time as it is written on the command line."""

    name = "seconds"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: PLR0917
        """The seconds of what was written."""
        try:
            return seconds_of(value)
        except ValueError:
            speak = ctx.find_object(Speaking) if ctx is not None else None
            said = repr(value) if speak is None else speak.texts.say("cli.watch.every.refused", {"received": value})
            self.fail(said, param, ctx)


@click.command("watch", help="cli.watch.help")
@click.option(
    "--every", type=Seconds(), metavar="cli.metavar.time", default="5m", show_default=True, help="cli.watch.every"
)
@click.option("--once", is_flag=True, help="cli.watch.once")
@click.option("--stage-only", is_flag=True, help="cli.watch.stage-only")
@signed
@speaking
def watch(speak: Speaking, /, *, every: float, once: bool, stage_only: bool, by: str | None, note: str) -> None:
    """Take up what is new until stopped."""
    if speak.settings.log_format is LogFormat.JSON:
        configure_logs(form=speak.settings.log_format, level=speak.settings.log_level)
    eyes = Eyes.FOUR if stage_only else speak.settings.publish_eyes
    asyncio.run(_watch(speak, every=None if once else every, eyes=eyes, by=by, note=note))


async def _watch(speak: Speaking, *, every: float | None, eyes: Eyes, by: str | None, note: str) -> None:
    """Look at once, and again every so many seconds until a signal comes. A look alone raises what goes wrong."""
    stop, stopped = threading.Event(), asyncio.Event()

    with _on_signal(stop, stopped):
        async with store_of(speak) as store:
            while not stop.is_set():
                try:
                    await _look(speak, store=store, eyes=eyes, stop=stop, by=by, note=note)
                except WorkStopped:
                    break
                except (HooflastError, OSError) as error:
                    if every is None:
                        raise
                    _tell("failed", {"reason": _reason(error, speak=speak)}, speak=speak)
                if every is None:
                    return
                await _until(stopped, seconds=every)
    _tell("stopped", {}, speak=speak)


async def _look(speak: Speaking, *, store: Store, eyes: Eyes, stop: threading.Event, by: str | None, note: str) -> None:
    with showing(speak) as on_progress:
        taken = await take_up(
            store,
            TakingUp(
                signature=signature(by, note=note),
                eyes=eyes,
                configured=configured_plugins(speak.settings.plugins_file),
                write_report=lambda found: encode(validation_document(found, texts=speak.texts)),
                on_progress=on_progress,
                on_wait=lambda: _tell("waits", {}, speak=speak),
                stop=stop,
                load=load_catalog,
            ),
        )
    await _tell_taken(taken, store=store, eyes=eyes, speak=speak)


async def _tell_taken(taken: TakenUp, *, store: Store, eyes: Eyes, speak: Speaking) -> None:
    for report in taken.reports:
        if report.failure is not None:
            _tell("plugin-failed", {"plugin": report.plugin, "reason": report.failure.reason}, speak=speak)
        elif report.faults:
            _tell("plugin-faults", {"plugin": report.plugin, "count": len(report.faults)}, speak=speak)
    if taken.carried:
        _tell("carried", {"plugin_list": ",".join(sorted(taken.carried))}, speak=speak)
    for release_id in taken.new:
        kept = await store.releases.find(release_id)
        facts: dict[str, Fact] = {"edition": kept.edition, "release": short_id(kept.id)}
        _tell("published" if eyes is Eyes.TWO else "staged", facts, speak=speak)
    if not taken.new:
        _tell("nothing-new", {}, speak=speak)


def _reason(error: HooflastError | OSError, *, speak: Speaking) -> str:
    """Why a look failed: in the reader's language, or for logs in the error's own words."""
    if isinstance(error, HooflastError) and speak.settings.log_format is not LogFormat.JSON:
        return sentence_of(error, speak.texts)
    return str(error)


def _tell(said: str, facts: dict[str, Fact], *, speak: Speaking) -> None:
    """One line with its time, or one event."""
    if speak.settings.log_format is LogFormat.JSON:
        log.info("watch", said=said, **facts)
        return
    sentence = speak.texts.say(f"cli.watch.{said}", facts)
    line = Text(f"{datetime.now(UTC):%Y-%m-%d %H:%M:%SZ} {sentence}")
    Console(highlight=False, soft_wrap=True).print(line)


async def _until(stopped: asyncio.Event, *, seconds: float) -> None:
    try:
        async with asyncio.timeout(seconds):
            await stopped.wait()
    except TimeoutError:
        return


@contextmanager
def _on_signal(stop: threading.Event, stopped: asyncio.Event) -> Iterator[None]:
    """The first signal ends it after what is at hand; the next one does what it would have done without us."""
    loop = asyncio.get_running_loop()
    before = {each: signal.getsignal(each) for each in STOPPING_SIGNALS}

    def restore() -> None:
        for each, handler in before.items():
            signal.signal(each, handler)

    def on_signal(_number: int, _frame: object) -> None:
        restore()
        stop.set()
        loop.call_soon_threadsafe(stopped.set)

    for each in STOPPING_SIGNALS:
        signal.signal(each, on_signal)
    try:
        yield
    finally:
        restore()
