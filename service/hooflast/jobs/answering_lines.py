"""Answering lines: what a match job answers for one horse, by that horse and the job alone, however often asked."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import structlog

from hooflast.errors import Fault, InputRefused
from hooflast.exchange.job_horse import read_job_horse
from hooflast.exchange.job_result_document import (
    write_answered,
    write_changes,
    write_full,
    write_refused,
    write_short,
)
from hooflast.jobs.receiving import LONGEST_HORSE
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import receipt_facts, sign_receipt
from hooflast.matching.release_effects import release_effects
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of
from hooflast.store import SigningKey, StoreError
from hooflast.store.match_job_values import JobAnswers, JobLine, JobOutcome, JobResult, MatchJob
from hooflast.texts import Texts

log = structlog.stdlib.get_logger("hooflast.jobs")

HOOVES: Final = "hooves"
HORSES_CHANGED: Final = "horses_changed"
HOOVES_CHANGED: Final = "hooves_changed"


Selling = Callable[[MatchQuestion, Shelf], tuple[MatchQuestion, Shelf]]
"""What the assortment that a question names has of a shelf, with the question as it is then answered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What the horses of one job are answered with; `older` is the catalog release to compare with, if there is one."""

    job: MatchJob
    shelf: Shelf
    older: Shelf | None
    selling: Selling
    texts: Texts
    key: SigningKey | None = None

    def answer(self, line: JobLine) -> JobResult:
        """What is answered for one horse, or its faults if it cannot be read. Raises StoreError and nothing else."""
        wish = self.job.wish
        try:
            question = read_job_horse(
                line,
                written_as=wish.written_as,
                heading=self.job.given.heading,
                longest=LONGEST_HORSE,
                today=wish.day,
            )
            return self._answered(line.line, question)
        except InputRefused as refused:
            return self._refused(line.line, refused.faults)
        except StoreError:
            raise
        except Exception as error:
            log.error("horse not answered", job=self.job.id, line=line.line, exc_info=error)
            return self._refused(line.line, (Fault(path=(), code="horse-not-answered", received=None),))

    def _answered(self, line: int, question: MatchQuestion) -> JobResult:
        outcome, totals = JobOutcome.ANSWERED, dict[str, int]()
        wish = self.job.wish
        if wish.answers is JobAnswers.CHANGES and self.older is not None:
            _, older = self._shop(question, self.older)
            question, shelf = self._shop(question, self.shelf)
            (horse,) = release_effects([question], old=older, new=shelf, today=wish.day)
            versions = versions_of(shelf, language=wish.language)
            written = write_changes(horse, since=self.older.release.id, versions=versions, texts=self.texts)
            totals[HOOVES] = len(question.hooves)
            if horse.hooves:
                outcome = JobOutcome.CHANGED
                totals |= {HORSES_CHANGED: 1, HOOVES_CHANGED: len(horse.hooves)}
                for effect in (effect for hoof in horse.hooves for effect in hoof.effects):
                    totals[effect.value] = totals.get(effect.value, 0) + 1
        elif wish.answers is JobAnswers.SHORT:
            first, shelf = self._shop(replace(question, boots_per_hoof=1), self.shelf)
            answer = match_horse(first, shelf, today=wish.day, language=wish.language)
            written = write_short(answer, texts=self.texts)
        else:
            question, shelf = self._shop(question, self.shelf)
            answer = match_horse(question, shelf, today=wish.day, language=wish.language)
            receipt = self._receipt(line, facts=receipt_facts(answer)) if wish.has_receipts else None
            written = write_full(answer, receipt=receipt, texts=self.texts)
        body = write_answered(line, horse_name=question.horse_name, answer=written, outcome=outcome)
        return JobResult(line=line, outcome=outcome, body=body, totals=totals)

    def _shop(self, question: MatchQuestion, shelf: Shelf) -> tuple[MatchQuestion, Shelf]:
        return (question, shelf) if question.assortment is None else self.selling(question, shelf)

    def _receipt(self, line: int, *, facts: bytes) -> str | None:
        """A receipt that names the job and the line: the same one however often the line is answered."""
        if self.key is None:
            return None
        at: datetime = self.job.created_at
        name = f"{self.job.id}/{line}"
        return sign_receipt(facts, receipt_id=name, tenant=self.job.tenant, at=at, key=self.key).token

    def _refused(self, line: int, faults: tuple[Fault, ...]) -> JobResult:
        body = write_refused(line, faults, texts=self.texts)
        return JobResult(line=line, outcome=JobOutcome.REFUSED, body=body)
