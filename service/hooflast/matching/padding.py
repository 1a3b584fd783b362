"""Padding: the pad that a question asks about, what it counts as among the features of needs, and its cautions."""

from typing import Final

from hooflast.fit.boot import Course
from hooflast.fit.estimate import Estimate
from hooflast.fit.pad import COMPRESSED, Pad, PadKind, RoomLost, Softness, room_lost
from hooflast.fit.remark import Caution, Fact, Remark, Severity
from hooflast.matching.cautions import COMMON_PRACTICE
from hooflast.matching.needs import Feature, NeedAdvice, advice
from hooflast.matching.question import MatchQuestion, NamedNeed

PAD_FEATURES: Final = frozenset(
    {Feature.SOFT_PAD, Feature.FULL_PAD, Feature.SOLE_SUPPORT, Feature.WEDGE, Feature.SOLE_PRESSURE}
)
"""What may be said of a pad among the features of needs."""

_COUNTS_AS: Final = {
    PadKind.FULL: frozenset({Feature.FULL_PAD}),
    PadKind.PARTIAL: frozenset({Feature.SOLE_SUPPORT, Feature.SOLE_PRESSURE}),
    PadKind.WEDGE: frozenset({Feature.WEDGE}),
}
"""A pad inside the wall bears on sole and frog [CP]."""


def asked_pad(question: MatchQuestion) -> Pad:
    """The pad that a question asks about; without one, a pad of no thickness."""
    return Pad(thickness_mm=question.pad_mm, kind=question.pad_kind, compressed=COMPRESSED[question.pad_softness])


def asked_room(question: MatchQuestion, *, hoof_length_mm: float) -> RoomLost | None:
    """The room that the asked pad takes from a hoof of this length; None where no pad is asked for."""
    return room_lost(asked_pad(question), hoof_length_mm=hoof_length_mm) if question.pad_mm else None


def hoof_in_boot(estimate: Estimate, question: MatchQuestion) -> Estimate:
    """The hoof as a boot sees it: larger by the room that the asked pad takes."""
    room = asked_room(question, hoof_length_mm=float(estimate.mean[1]))
    return estimate if room is None else estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)


def pad_advice(named: NamedNeed) -> NeedAdvice:
    """What practice says about pads, and only about them, to one named need."""
    whole = advice(named)
    return NeedAdvice(
        need=whole.need,
        course=whole.course,
        suits=tuple(feature for feature in whole.suits if feature in PAD_FEATURES),
        as_directed=tuple(feature for feature in whole.as_directed if feature in PAD_FEATURES),
        never=tuple(feature for feature in whole.never if feature in PAD_FEATURES),
    )


def need_cautions(question: MatchQuestion) -> tuple[Caution, ...]:
    """Where practice keeps the asked pad from a named need, or leaves it to the veterinarian."""
    features = _COUNTS_AS[question.pad_kind]
    if question.pad_softness is Softness.SOFT:
        features |= {Feature.SOFT_PAD}
    found = []
    for named in question.needs:
        said = advice(named)
        facts = {"need": named.need.value, "course": named.course.value}
        if features & set(said.never):
            found.append(Caution(code="pad-never", severity=Severity.STOP, source=COMMON_PRACTICE, facts=facts))
        elif features & set(said.as_directed):
            severity = Severity.STOP if named.course is Course.ACUTE else Severity.LOOK_AGAIN
            found.append(Caution(code="pad-as-directed", severity=severity, source=COMMON_PRACTICE, facts=facts))
    return tuple(found)


def pad_cautions(question: MatchQuestion) -> tuple[Caution, ...]:
    """What to be careful about with a pad of this kind, whatever boot it lies in."""
    by_kind = {
        PadKind.FULL: Caution(code="pad-takes-room", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE),
        PadKind.PARTIAL: Caution(code="pad-inside-the-wall", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE),
        PadKind.WEDGE: Caution(code="pad-wedge", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE),
    }
    daily = Caution(code="pad-look-daily", severity=Severity.NOTE, source=COMMON_PRACTICE)
    return (*need_cautions(question), by_kind[question.pad_kind], daily)


def wished_pad_cautions(question: MatchQuestion) -> tuple[Caution, ...]:
    """The same of a pad that is wished beside other things."""
    return pad_cautions(question) if question.pad_mm else ()


def wished_pad_assumptions(question: MatchQuestion) -> tuple[Remark, ...]:
    """What a wished pad was worked out with, and the room it takes; no room where it lies inside the wall."""
    if not question.pad_mm:
        return ()
    room = room_lost(asked_pad(question), hoof_length_mm=question.hooves[0].length.mean_mm)
    if question.pad_kind is PadKind.PARTIAL:
        return (Remark(code="pad-takes-none"), *pad_assumptions(question))
    facts: dict[str, Fact] = {
        "pad_mm": question.pad_mm,
        "width_mm": float(room.mean_mm[0]),
        "lift_mm": room.heel_lift_mm,
    }
    return (Remark(code="pad-room", facts=facts), *pad_assumptions(question))


def pad_assumptions(question: MatchQuestion) -> tuple[Remark, ...]:
    """What the room that a pad takes was worked out with."""
    found = [Remark(code="pad-chart-without"), Remark(code="pad-walls")]
    if question.pad_softness is Softness.UNKNOWN:
        found.append(Remark(code="pad-softness-unknown"))
    return tuple(found)
