"""View: an answer ready to be laid out as a page: drawn, its cautions gravest first, its sources in a list."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from typing import Self

from hooflast.fit.remark import Caution
from hooflast.matching.answer import Alternative, BootFit, HoofAnswer, MatchAnswer
from hooflast.matching.gravity import GRAVITY, stops
from hooflast.matching.likelihood import Likelihood, likelihood
from hooflast.matching.needs import is_painful
from hooflast.matching.pictures import hooves_picture, sizes_picture, sole_picture
from hooflast.matching.versions import UNCALIBRATED
from hooflast.texts import Texts


@dataclass(frozen=True, slots=True, kw_only=True)
class FitView:
    """One boot on one hoof."""

    fit: BootFit
    word: Likelihood
    cautions: tuple[Caution, ...]

    @classmethod
    def of(cls, fit: BootFit) -> Self:
        """The view of a boot."""
        return cls(fit=fit, word=likelihood(fit.best.fit_chance), cautions=gravest_first(fit.cautions))


@dataclass(frozen=True, slots=True, kw_only=True)
class AlternativeView:
    """One alternative."""

    alternative: Alternative
    view: FitView


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofView:
    """One hoof. Without a boot there is neither a first one nor a picture."""

    hoof: HoofAnswer
    anchor: str
    first: FitView | None
    others: tuple[FitView, ...]
    alternatives: tuple[AlternativeView, ...]
    alike: int
    cautions: tuple[Caution, ...]
    sole: str | None
    sizes: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerView:
    """A whole answer. `stops` go above everything."""

    answer: MatchAnswer
    is_painful: bool
    stops: tuple[Caution, ...]
    cautions: tuple[Caution, ...]
    picture: str
    hooves: tuple[HoofView, ...]
    sources: tuple[str, ...]
    calibration: str


def answer_view(answer: MatchAnswer, *, texts: Texts) -> AnswerView:
    """The view of an answer."""
    stopping, calibration = stops(answer), answer.versions.calibration
    hooves = tuple(_hoof_view(hoof, answer=answer, texts=texts) for hoof in answer.hooves)
    return AnswerView(
        answer=answer,
        is_painful=is_painful(answer.question.needs),
        stops=stopping,
        cautions=gravest_first(caution for caution in answer.cautions if caution not in stopping),
        picture=hooves_picture(answer, texts=texts, prefix="hooves-picture"),
        hooves=hooves,
        sources=tuple(
            texts.source(source) for source in dict.fromkeys(caution.source for caution in _all_cautions(answer))
        ),
        calibration=texts.say("page.versions.uncalibrated") if calibration == UNCALIBRATED else calibration,
    )


def gravest_first(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """The cautions by how much they matter, otherwise in their order."""
    return tuple(sorted(cautions, key=lambda caution: -GRAVITY[caution.severity]))


def _hoof_view(hoof: HoofAnswer, *, answer: MatchAnswer, texts: Texts) -> HoofView:
    limb = hoof.reading.limb
    anchor = f"hoof-{limb.lower()}"
    views = tuple(FitView.of(fit) for fit in hoof.boots)
    sole = sole_picture(answer, limb=limb, texts=texts, prefix=f"sole-{limb.lower()}") if views else None
    sizes = sizes_picture(answer, limb=limb, texts=texts, prefix=f"sizes-{limb.lower()}") if views else None
    return HoofView(
        hoof=hoof,
        anchor=anchor,
        first=views[0] if views else None,
        others=views[1:],
        alternatives=tuple(AlternativeView(alternative=one, view=FitView.of(one.fit)) for one in hoof.alternatives),
        alike=sum(view.fit.band == views[0].fit.band for view in views),
        cautions=gravest_first(hoof.cautions),
        sole=sole,
        sizes=sizes,
    )


def _all_cautions(answer: MatchAnswer) -> Iterable[Caution]:
    of_boots = (fit.cautions for hoof in answer.hooves for fit in hoof.boots)
    return chain(answer.cautions, *(hoof.cautions for hoof in answer.hooves), *of_boots)
