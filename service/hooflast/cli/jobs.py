"""Jobs: files of horses answered in the background: started, followed, read, cancelled, removed."""

import asyncio
import getpass
import sys
from asyncio import Semaphore
from collections.abc import AsyncIterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import click
import msgspec
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from hooflast.api.logs import configure_logs
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import named, with_store
from hooflast.errors import CatalogUnavailable, Fact, Fault, InputRefused
from hooflast.exchange.job_document import MatchJobDocument, job_document
from hooflast.jobs.match_jobs import Clerk
from hooflast.jobs.receiving import Bounds, receive_job
from hooflast.jobs.telling_results import as_csv, as_ndjson, pages_of
from hooflast.matching.answering import WORKING_AT_ONCE
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.store import Store, TenantId
from hooflast.store.audit import Actor
from hooflast.store.match_job_values import JobAnswers, JobFormat, JobId, JobOutcome, JobWish, MatchJob
from hooflast.store.match_jobs import LARGEST_PAGE

LOOK_SECONDS: Final = 1.0
PIECE_BYTES: Final = 65_536
_JOB: Final = click.argument("job")
_CLIENT: Final = click.option("--client", help="cli.jobs.client")
_JSON: Final = click.option("--json", "as_json", is_flag=True, help="cli.option.json")
_FORMATS: Final = click.Choice([one.value for one in JobFormat])


@click.group("jobs", help="cli.jobs.help")
def jobs() -> None:
    """Answer files of horses in the background."""


@jobs.command("start", help="cli.jobs.start.help")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--written-as", type=_FORMATS, help="cli.match.written-as")
@click.option("--answer", type=click.Choice([one.value for one in JobAnswers]), help="cli.jobs.start.answer")
@click.option("--release", help="cli.catalog.show.release")
@click.option("--compare-with", metavar="cli.metavar.release", help="cli.jobs.start.compare-with")
@click.option("--receipts", is_flag=True, help="cli.jobs.start.receipts")
@click.option("--follow", is_flag=True, help="cli.jobs.start.follow")
@_CLIENT
@_JSON
@speaking
def start(
    speak: Speaking, /, *, file: Path, written_as: str | None, answer: str | None, release: str | None,
    compare_with: str | None, receipts: bool, follow: bool, client: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Hand over a file of horses."""
    settings, by = speak.settings, _somebody()
    known = JobFormat.CSV if file.suffix.lower() == ".csv" else JobFormat.NDJSON
    answers = JobAnswers(answer or ("changes" if compare_with else "full"))

    async def make(store: Store) -> MatchJob:
        catalog = LiveCatalog(store.releases, most_bytes=settings.pinned_bytes)
        await catalog.refresh()
        newer = catalog.active.release.id if release is None else (await named(store, release)).id
        older = None
        if answers is JobAnswers.CHANGES:
            older = catalog.before(newer) if compare_with is None else (await named(store, compare_with)).id
            if older is None:
                raise InputRefused(faults=(Fault(path=("compare_with",), code="no-release-before", received=None),))
        wish = JobWish(
            answers=answers,
            written_as=JobFormat(written_as or known),
            catalog_release=newer,
            compared_with=older,
            language=speak.texts.language,
            day=by.at.date(),
            has_receipts=receipts and answers is JobAnswers.FULL,
        )
        tenant = _tenant(speak, client)
        await store.tenants.ensure(tenant, now=by.at)
        bounds = Bounds(most_horses=settings.job_horses)
        job = await receive_job(wish, _pieces(file), store=store, tenant=tenant, by=by, bounds=bounds)
        return await _follow(job, store=store, catalog=catalog, speak=speak) if follow else job

    _show(with_store(speak, make), speak=speak, as_json=as_json)


@jobs.command("list", help="cli.jobs.list.help")
@_CLIENT
@_JSON
@speaking
def list_jobs(speak: Speaking, /, *, client: str | None, as_json: bool) -> None:
    """Every job, newest first."""

    async def read(store: Store) -> list[MatchJob]:
        found: list[MatchJob] = []
        before = None
        while page := await store.match_jobs.page(tenant=_tenant(speak, client), before=before, limit=LARGEST_PAGE):
            found += page
            before = page[-1].id
        return found

    found = with_store(speak, read)
    if as_json:
        click.echo(msgspec.json.format(msgspec.json.encode([_document(job, speak=speak) for job in found])).decode())
    else:
        _print_table(found, speak=speak)


@jobs.command("show", help="cli.jobs.show.help")
@_JOB
@_CLIENT
@_JSON
@speaking
def show(speak: Speaking, /, *, job: str, client: str | None, as_json: bool) -> None:
    """How far one job is."""
    tenant = _tenant(speak, client)
    _show(
        with_store(speak, lambda store: store.match_jobs.find(JobId(job), tenant=tenant)), speak=speak, as_json=as_json
    )


@jobs.command("results", help="cli.jobs.results.help")
@_JOB
@click.option("--after", type=click.IntRange(0), default=0, metavar="cli.metavar.line", help="cli.jobs.results.after")
@click.option("--only", type=click.Choice([one.value for one in JobOutcome]), help="cli.jobs.results.only")
@click.option("--write-as", type=_FORMATS, default=JobFormat.NDJSON.value, help="cli.bulk.write-as")
@_CLIENT
@speaking
def results(
    speak: Speaking, /, *, job: str, after: int, only: str | None, write_as: str, client: str | None
) -> None:  # fmt: skip
    """What a job has answered so far."""
    outcome = JobOutcome(only) if only else None

    async def write(store: Store) -> None:
        found = await store.match_jobs.find(JobId(job), tenant=_tenant(speak, client))
        pages = pages_of(found, store=store, after=after, only=outcome)
        async for piece in as_csv(pages, job=found) if write_as == JobFormat.CSV else as_ndjson(pages):
            sys.stdout.buffer.write(piece)
        sys.stdout.buffer.flush()

    with_store(speak, write)


@jobs.command("cancel", help="cli.jobs.cancel.help")
@_JOB
@_CLIENT
@speaking
def cancel(speak: Speaking, /, *, job: str, client: str | None) -> None:
    """Answer no more horses of a job."""
    keep_for, tenant = timedelta(days=speak.settings.job_days), _tenant(speak, client)
    ended = with_store(
        speak,
        lambda store: store.match_jobs.cancel(JobId(job), tenant=tenant, keep_for=keep_for, by=_somebody()),
    )
    _show(ended, speak=speak, as_json=False)


@jobs.command("remove", help="cli.jobs.remove.help")
@_JOB
@_CLIENT
@speaking
def remove(speak: Speaking, /, *, job: str, client: str | None) -> None:
    """Erase a job with its results."""
    tenant = _tenant(speak, client)
    with_store(speak, lambda store: store.match_jobs.remove(JobId(job), tenant=tenant, by=_somebody()))
    _console().print(Text(speak.texts.say("cli.jobs.removed", {"job": job})))


async def _follow(job: MatchJob, *, store: Store, catalog: LiveCatalog, speak: Speaking) -> MatchJob:
    """Work on a job, beside whoever else does, until it is over; how far it is is shown on standard error."""
    configure_logs(form=speak.settings.log_format, level=speak.settings.log_level)
    clerk = Clerk(
        store=store,
        catalog=catalog,
        shops=ShopShelves(store.assortments),
        working=Semaphore(WORKING_AT_ONCE),
        clock=lambda: datetime.now(UTC),
        keep_for=timedelta(days=speak.settings.job_days),
    )
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task(speak.texts.say("cli.jobs.following"), total=job.given.horses)
        while not job.state.is_over:
            try:
                if not await clerk.take_turn(only=job.id):
                    await clerk.rest(LOOK_SECONDS)
            except CatalogUnavailable:
                await clerk.rest(LOOK_SECONDS)
            job = await store.match_jobs.find(job.id, tenant=job.tenant)
            bars.update(task, completed=job.answered + job.refused)
    return job


async def _pieces(file: Path) -> AsyncIterator[bytes]:
    with file.open("rb") as opened:
        while piece := await asyncio.to_thread(opened.read, PIECE_BYTES):
            yield piece


def _show(job: MatchJob, *, speak: Speaking, as_json: bool) -> None:
    if as_json:
        click.echo(msgspec.json.format(msgspec.json.encode(_document(job, speak=speak))).decode())
        return
    texts, console = speak.texts, _console()
    facts: dict[str, Fact] = {
        "job": job.id, "now": texts.say(f"job_state.{job.state}"), "count": job.given.horses,
        "answered": job.answered, "refused": job.refused,
    }  # fmt: skip
    console.print(Text(texts.say("cli.jobs.now", facts)))
    document = _document(job, speak=speak)
    if document.failure_text is not None:
        console.print(Text(document.failure_text))
    if document.changes is not None:
        changes = msgspec.to_builtins(document.changes)
        console.print(Text(texts.say("cli.jobs.changes", {**changes, "count": document.changes.horses_changed})))
    if job.answered_to:
        console.print(Text(texts.say("cli.jobs.next", facts)))


def _print_table(found: Sequence[MatchJob], *, speak: Speaking) -> None:
    table = Table()
    for column in ("job", "created", "answer", "state", "horses", "answered", "refused"):
        table.add_column(speak.texts.say(f"cli.jobs.column.{column}"), overflow="fold", no_wrap=column == "job")
    for job in found:
        table.add_row(
            job.id, f"{job.created_at:%Y-%m-%d %H:%M}", speak.texts.say(f"job_answers.{job.wish.answers}"),
            speak.texts.say(f"job_state.{job.state}"), str(job.given.horses), str(job.answered), str(job.refused),
        )  # fmt: skip
    _console().print(table)


def _document(job: MatchJob, *, speak: Speaking) -> MatchJobDocument:
    address = f"{speak.settings.public_url}/v1/match-jobs/{job.id}/results"
    return job_document(job, results=address, texts=speak.texts)


def _tenant(speak: Speaking, client: str | None) -> TenantId:
    return TenantId(client or speak.settings.tenant)


def _somebody() -> Actor:
    return Actor(who=f"user:{getpass.getuser()}", at=datetime.now(UTC))


def _console() -> Console:
    return Console(highlight=False, soft_wrap=True)
