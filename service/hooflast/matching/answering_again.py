"""Answering again: a kept question answered as it was on its own day, for what is drawn or said of it later."""

from collections.abc import Mapping

import msgspec

from hooflast.catalog.values import ReleaseId
from hooflast.fit import ENGINE
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.errors import CannotAnswerAgain
from hooflast.matching.match_horse import UNCALIBRATED, match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.store.values import KeptAnswer


def answer_again(kept: KeptAnswer, *, shelves: Mapping[ReleaseId, Shelf], language: str) -> MatchAnswer:
    """The answer that was kept, as values: same question, catalog release, engine, calibration and day.

    Raises CannotAnswerAgain where one of them is no longer here.
    """
    shelf = shelves.get(kept.catalog_release)
    if shelf is None or (kept.engine, kept.calibration) != (ENGINE, UNCALIBRATED):
        raise _gone(kept)
    try:
        question = msgspec.json.decode(kept.question, type=MatchQuestion)
    except msgspec.DecodeError as error:
        raise _gone(kept) from error
    return match_horse(question, shelf, today=kept.created_at.date(), language=language)


def _gone(kept: KeptAnswer) -> CannotAnswerAgain:
    return CannotAnswerAgain(match=kept.id, catalog_release=kept.catalog_release, engine=kept.engine)
