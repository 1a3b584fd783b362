"""Comparisons: what stands out among a horse's readings, as cautions, with the likeliest slip behind it."""

from collections.abc import Iterator
from typing import Final

from hooflast.fit.comparing import LEFT_RIGHT_MM, Comparison, Finding, compare_readings
from hooflast.fit.girth import GirthWidth, width_from_girth
from hooflast.fit.hoof import HoofReading
from hooflast.fit.remark import Caution, Fact, Footing, Severity
from hooflast.fit.slip import Slip, SlipKind, likely_slip
from hooflast.matching.cautions import CONVENTION
from hooflast.matching.question import MatchQuestion

FARRIERY: Final = Footing.FARRIERY
FORE_AND_HIND: Final = "Sahel J Vet Sci 2024;21:35; Arch Tierz 2008;51:531"
GIRTH: Final = "Anim Sci Pap Rep 2011;29:213"
GIRTH_LIMIT_SD: Final = 3.0
"""How far a fore width may be from what the girth says before it is mentioned, standard deviations [C]."""


def comparison_cautions(question: MatchQuestion) -> tuple[Caution, ...]:
    """Everything that stands out between the hooves of one horse, and between a hoof and its kind."""
    readings = {reading.limb: reading for reading in question.hooves}
    found = []
    for comparison in compare_readings(question.hooves, animal_type=question.animal_type):
        if comparison.finding is Finding.LEFT_RIGHT:
            found.append(_left_right(comparison))
        elif comparison.finding is Finding.FORE_HIND:
            found.append(_fore_hind(comparison))
        else:
            found += _unlike_its_kind(readings[comparison.limb], question=question)
    return (*found, *_girth(question))


def girth_width(question: MatchQuestion) -> GirthWidth | None:
    """What the chest girth says about the fore hooves' width, if it was measured."""
    return None if question.girth_mm is None else width_from_girth(question.girth_mm, build=question.build)


def _left_right(comparison: Comparison) -> Caution:
    facts = _facts(comparison)
    ask, closely, _ = (least for least, _ in LEFT_RIGHT_MM)
    if abs(comparison.difference_mm) >= ask:
        return Caution(code="left-right-ask", severity=comparison.severity, source=FARRIERY, facts=facts)
    if abs(comparison.difference_mm) >= closely:
        return Caution(code="left-right-look-closely", severity=comparison.severity, source=FARRIERY, facts=facts)
    return Caution(code="left-right-differ", severity=comparison.severity, source=FARRIERY, facts=facts)


def _fore_hind(comparison: Comparison) -> Caution:
    facts = _facts(comparison)
    if comparison.difference_mm > 0.0:
        return Caution(code="fore-large-for-hind", severity=comparison.severity, source=FORE_AND_HIND, facts=facts)
    return Caution(code="hind-large-for-fore", severity=comparison.severity, source=FORE_AND_HIND, facts=facts)


def _facts(comparison: Comparison) -> dict[str, Fact]:
    return {
        "limb": comparison.limb.value,
        "other_limb": comparison.other.value if comparison.other else "",
        "axis": comparison.axis.value if comparison.axis else "",
        "difference_mm": abs(comparison.difference_mm),
    }


def _unlike_its_kind(reading: HoofReading, *, question: MatchQuestion) -> Iterator[Caution]:
    facts: dict[str, Fact] = {
        "limb": reading.limb.value,
        "width_mm": reading.width.mean_mm,
        "length_mm": reading.length.mean_mm,
    }
    yield Caution(code="unlike-its-kind", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
    slip = likely_slip(reading, animal_type=question.animal_type)
    if slip is not None:
        yield _slip(slip)


def _slip(slip: Slip) -> Caution:
    facts: dict[str, Fact] = {
        "limb": slip.changed.limb.value,
        "width_mm": slip.changed.width.mean_mm,
        "length_mm": slip.changed.length.mean_mm,
    }
    if slip.kind is SlipKind.WIDTH_FOR_LENGTH:
        return Caution(code="maybe-width-for-length", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
    if slip.kind is SlipKind.DIGITS_TRANSPOSED:
        return Caution(code="maybe-digits-transposed", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
    return Caution(code="maybe-ruler-misread", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)


def _girth(question: MatchQuestion) -> Iterator[Caution]:
    expected = girth_width(question)
    for reading in question.hooves:
        if expected is None or not reading.limb.is_fore:
            continue
        apart = reading.width.mean_mm - expected.mean_mm
        if abs(apart) > GIRTH_LIMIT_SD * expected.sd_mm:
            facts: dict[str, Fact] = {
                "limb": reading.limb.value,
                "width_mm": reading.width.mean_mm,
                "expected_mm": expected.mean_mm,
            }
            yield Caution(code="girth-asks-otherwise", severity=Severity.NOTE, source=GIRTH, facts=facts)
