"""Progress: how far long work has come, on standard error: a bar on a terminal, else lines, or events in JSON."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Final

import click
import structlog
from rich.console import Console
from rich.progress import BarColumn, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bars

from hooflast.api.logs import configure_logs
from hooflast.catalog.progress import OnProgress, Progress, WorkStage
from hooflast.cli.speaking import Speaking
from hooflast.settings import LogFormat
from hooflast.texts import Texts

QUIET_SECONDS: Final = 2.0
"""Work that takes no longer is not told of where there is no terminal."""

AGAIN_SECONDS: Final = 10.0
"""After so long the same work is told of again."""


@contextmanager
def showing(speak: Speaking) -> Iterator[OnProgress]:
    """A listener that shows what it is told, as long as the work goes on."""
    if speak.settings.log_format is LogFormat.JSON:
        configure_logs(form=speak.settings.log_format, level=speak.settings.log_level)
        yield after(QUIET_SECONDS, _event)
    elif sys.stderr.isatty():
        with _bars(speak.texts) as listener:
            yield listener
    else:
        yield after(QUIET_SECONDS, lambda progress: click.echo(told(progress, texts=speak.texts), err=True))


def after(seconds: float, tell: OnProgress, *, clock: Callable[[], float] = monotonic) -> OnProgress:
    """A listener that hands on each new thing at hand, and the same one now and then; nothing in the first seconds."""
    begun = told_at = clock()
    last: tuple[WorkStage, str] | None = None

    def listen(progress: Progress) -> None:
        nonlocal last, told_at
        now, at_hand = clock(), (progress.stage, progress.about)
        if now - begun >= seconds and (at_hand != last or now - told_at >= AGAIN_SECONDS):
            last, told_at = at_hand, now
            tell(progress)

    return listen


def told(progress: Progress, *, texts: Texts) -> str:
    """How far it has come, as a sentence."""
    return texts.say(
        f"progress.{progress.stage}", {"about": progress.about, "number": progress.done, "of": progress.of}
    )


def _event(progress: Progress) -> None:
    log = structlog.stdlib.get_logger("hooflast.catalog")
    log.info("progress", stage=progress.stage.value, about=progress.about, done=progress.done, of=progress.of)


@contextmanager
def _bars(texts: Texts) -> Iterator[OnProgress]:
    columns = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(bar_width=24), TimeElapsedColumn())
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("", total=None)

        def show(progress: Progress) -> None:
            total = progress.of or None
            bars.update(task, description=told(progress, texts=texts), completed=progress.done, total=total)

        yield show
