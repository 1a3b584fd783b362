"""Match horse: a question and a shelf to an answer; the same question on the same shelf has the same answer."""

from collections.abc import Mapping
from datetime import date

import numpy as np

from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Remark
from hooflast.matching.answer import HoofAnswer, LeftOutBecause, MatchAnswer
from hooflast.matching.answer_hoof import answer_hoof
from hooflast.matching.cautions import assumptions, horse_cautions
from hooflast.matching.choosing import Choice, choose_boots
from hooflast.matching.comparisons import comparison_cautions, girth_width
from hooflast.matching.level_pairs import Shown, level_pairs
from hooflast.matching.needs import advice
from hooflast.matching.padding import wished_pad_assumptions, wished_pad_cautions
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of
from hooflast.matching.wearing import wearing


def match_horse(question: MatchQuestion, shelf: Shelf, *, today: date, language: str) -> MatchAnswer:
    """Match every hoof of one horse. A foal gets its cautions and no boots."""
    shelf = shelf.on(today)
    choice = choose_for(question, shelf, today=today)
    hooves = tuple(
        answer_hoof(reading, boots=choice.boots[reading.limb], question=question, shelf=shelf, today=today)
        for reading in question.hooves
    )
    shown: dict[Limb, Shown] = {
        hoof.reading.limb: {fit.boot.id: fit.best.size.code for fit in hoof.boots} for hoof in hooves
    }
    return answer_horse(
        question,
        shelf,
        hooves=hooves,
        level=level_pairs(shown, shelf),
        left_out=choice.left_out,
        language=language,
    )


def choose_for(question: MatchQuestion, shelf: Shelf, *, today: date) -> Choice:
    """The boot models in question for each hoof; none for a foal."""
    choice = choose_boots(question, shelf, today=today)
    if not question.is_foal:
        return choice
    none = np.empty(0, dtype=np.intp)
    return Choice(boots=dict.fromkeys(choice.boots, none), left_out=choice.left_out)


def answer_horse(
    question: MatchQuestion,
    shelf: Shelf,
    *,
    hooves: tuple[HoofAnswer, ...],
    level: tuple[Remark, ...],
    left_out: Mapping[LeftOutBecause, int],
    language: str,
) -> MatchAnswer:
    """The answer about one horse, around what is said of its `hooves`."""
    return MatchAnswer(
        question=question,
        hooves=hooves,
        cautions=(*horse_cautions(question), *wished_pad_cautions(question), *comparison_cautions(question)),
        needs=tuple(advice(named) for named in question.needs),
        wearing=wearing(question),
        level=level,
        width_from_girth=girth_width(question),
        assumptions=(*assumptions(question), *wished_pad_assumptions(question)),
        left_out=left_out,
        versions=versions_of(shelf, language=language),
    )
