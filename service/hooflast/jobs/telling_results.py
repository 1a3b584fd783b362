"""Telling results: what a match job has answered so far, read and written a few horses at a time."""

import csv
import io
from collections.abc import AsyncIterator, Iterable
from typing import Final

from hooflast.errors import NotFound
from hooflast.exchange.job_result_rows import columns_of, rows_of
from hooflast.store import Store
from hooflast.store.match_job_values import JobOutcome, JobResult, MatchJob

READ_TOGETHER: Final = 50


async def pages_of(
    job: MatchJob, *, store: Store, after: int, only: JobOutcome | None = None
) -> AsyncIterator[tuple[JobResult, ...]]:
    """The results of a job past a line, up to where it stood. Raises NotFound if they are erased meanwhile."""
    while True:
        page = await store.match_jobs.results(job, after=after, limit=READ_TOGETHER, only=only)
        if page:
            yield page
            after = page[-1].line
        if len(page) < READ_TOGETHER:
            break
    if only is None and after < job.answered_to:
        raise NotFound(resource="match job", name=job.id)


async def as_ndjson(pages: AsyncIterator[tuple[JobResult, ...]]) -> AsyncIterator[bytes]:
    """One result a line."""
    async for page in pages:
        yield b"".join(result.body + b"\n" for result in page)


async def as_csv(pages: AsyncIterator[tuple[JobResult, ...]], *, job: MatchJob) -> AsyncIterator[bytes]:
    """A heading, then rows."""
    yield _csv([columns_of(job.wish.answers)])
    async for page in pages:
        yield _csv(row for result in page for row in rows_of(result.body, answers=job.wish.answers))


def _csv(rows: Iterable[Iterable[object]]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode()
