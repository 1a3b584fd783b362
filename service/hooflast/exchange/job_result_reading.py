"""Job result reading: the lines of JSON that were kept of a match job, as documents again."""

from collections.abc import Mapping
from typing import Any, Final

import msgspec

from hooflast.exchange.answer_parts import Document, VersionsDocument
from hooflast.exchange.job_result_document import ChangesAnswerDocument, JobResultDocument, ShortAnswerDocument
from hooflast.exchange.match_document import MatchAnswerDocument
from hooflast.store.match_job_values import JobAnswers, JobOutcome

JobAnswerDocument = MatchAnswerDocument | ShortAnswerDocument | ChangesAnswerDocument


class KeptResultDocument(JobResultDocument, frozen=True):
    """One horse of any job, with its answer as it was written; where it was refused, that is `null`."""

    answer: msgspec.Raw


class _Versioned(Document, frozen=True):
    versions: VersionsDocument


_RESULT: Final = msgspec.json.Decoder(KeptResultDocument)
_ANSWER: Final[Mapping[JobAnswers, msgspec.json.Decoder[Any]]] = {
    JobAnswers.FULL: msgspec.json.Decoder(MatchAnswerDocument),
    JobAnswers.SHORT: msgspec.json.Decoder(ShortAnswerDocument),
    JobAnswers.CHANGES: msgspec.json.Decoder(ChangesAnswerDocument),
}


def read_result(line: bytes) -> KeptResultDocument:
    """What became of a horse; its answer is left as it was written."""
    return _RESULT.decode(line)


def read_answer(kept: KeptResultDocument, *, answers: JobAnswers) -> JobAnswerDocument | None:
    """The answer to a horse. Raises msgspec.ValidationError for one that an older Hooflast wrote otherwise."""
    if kept.outcome is JobOutcome.REFUSED:
        return None
    answer: JobAnswerDocument = _ANSWER[answers].decode(kept.answer)
    return answer


def engine_of(kept: KeptResultDocument) -> str:
    """Which engine answered a horse, however its answer is written."""
    return msgspec.json.decode(kept.answer, type=_Versioned).versions.engine
