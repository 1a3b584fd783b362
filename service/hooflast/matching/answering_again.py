"""Answering again: a kept question answered as it was on its own day, for what is drawn or said of it later."""

import msgspec

from hooflast.fit import ENGINE
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.errors import CannotAnswerAgain
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import UNCALIBRATED
from hooflast.store.values import KeptAnswer


def answer_again(kept: KeptAnswer, *, shelf: Shelf | None, language: str) -> MatchAnswer:
    """The answer that was kept, as values: same question, catalog release, engine, calibration and day.

    `shelf` is its catalog release, or what its assortment had of it, or None where that is no longer here. Raises
    CannotAnswerAgain where anything of it is not.
    """
    if (
        shelf is None
        or shelf.release.id != kept.catalog_release
        or (kept.engine, kept.calibration) != (ENGINE, UNCALIBRATED)
    ):
        raise _gone(kept)
    question, sold = kept_question(kept), shelf.sold
    if question.assortment is not None and (sold is None or sold.head.revision != question.assortment.revision):
        raise _gone(kept)
    return match_horse(question, shelf, today=kept.created_at.date(), language=language)


def kept_question(kept: KeptAnswer) -> MatchQuestion:
    """The question of a kept answer. Raises CannotAnswerAgain where it was written by another version."""
    try:
        return msgspec.json.decode(kept.question, type=MatchQuestion)
    except msgspec.DecodeError as error:
        raise _gone(kept) from error


def _gone(kept: KeptAnswer) -> CannotAnswerAgain:
    return CannotAnswerAgain(match=kept.id, catalog_release=kept.catalog_release, engine=kept.engine)
