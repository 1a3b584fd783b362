"""Cautions: what to be careful about with a reading, a hoof and a horse, before any boot is looked at."""

from typing import Final

from hooflast.fit.boot import Course
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, HoofState, Method
from hooflast.fit.population import USUAL_MM
from hooflast.fit.remark import Caution, Fact, Footing, Remark, Severity
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion

COMMON_PRACTICE: Final = Footing.COMMON_PRACTICE
CONVENTION: Final = Footing.CONVENTION
CATALOG: Final = Footing.CATALOG
KOLSTRUNG: Final = "Kolstrung et al., Medycyna Weterynaryjna 2012;68:426"

FAULTS_OF_TRIM: Final = frozenset({HoofState.LONG_TOE, HoofState.HIGH_HEEL, HoofState.UNDER_RUN_HEEL, HoofState.FLARE})

OLD_WEEKS: Final = 2.0
STALE_WEEKS: Final = 6.0
"""Age of a reading, or time since the trim, from which to mention it, and from which to measure again [C]."""


def hoof_cautions(reading: HoofReading, *, animal_type: AnimalType) -> tuple[Caution, ...]:
    """What a reading alone gives reason to say."""
    found = [*_unusual(reading, animal_type=animal_type), *_state(reading)]
    if reading.allowance_mm:
        facts: dict[str, Fact] = {"side_mm": reading.allowance_mm}
        found.append(Caution(code="worn-inside", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=facts))
    if reading.age_weeks >= OLD_WEEKS:
        found.append(
            Caution(
                code="reading-old",
                severity=_worse_from(STALE_WEEKS, reading.age_weeks),
                source=KOLSTRUNG,
                facts={"age_weeks": reading.age_weeks},
            )
        )
    if reading.weeks_since_trim is not None and reading.weeks_since_trim >= OLD_WEEKS:
        found.append(
            Caution(
                code="trim-long-ago",
                severity=_worse_from(STALE_WEEKS, reading.weeks_since_trim),
                source=COMMON_PRACTICE,
                facts={"since_trim_weeks": reading.weeks_since_trim},
            )
        )
    return tuple(found)


def horse_cautions(question: MatchQuestion) -> tuple[Caution, ...]:
    """What the horse and its needs give reason to say; every answer says that its chances are not calibrated."""
    found = []
    if question.is_foal:
        found.append(Caution(code="foal", severity=Severity.STOP, source=COMMON_PRACTICE))
    if question.animal_type in (AnimalType.DONKEY, AnimalType.MULE):
        found.append(Caution(code="donkey-or-mule", severity=Severity.NOTE, source=COMMON_PRACTICE))
    if is_painful(question.needs):
        found.append(Caution(code="painful-foot", severity=Severity.STOP, source=COMMON_PRACTICE))
    if is_painful(question.needs) or any(named.course is Course.ACUTE for named in question.needs):
        found.append(Caution(code="veterinarian-first", severity=Severity.STOP, source=COMMON_PRACTICE))
    elif question.needs:
        found.append(Caution(code="as-directed", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE))
    if not is_painful(question.needs) and not question.is_foal:
        found.append(Caution(code="first-wear", severity=Severity.NOTE, source=COMMON_PRACTICE))
    found.append(Caution(code="chances-not-calibrated", severity=Severity.NOTE, source=CONVENTION))
    return tuple(found)


def assumptions(question: MatchQuestion) -> tuple[Remark, ...]:
    """What was taken for granted because it was not told."""
    found = []
    if any(hoof.weeks_since_trim is None for hoof in question.hooves):
        found.append(Remark(code="freshly-trimmed"))
    if any(hoof.method is Method.UNKNOWN for hoof in question.hooves):
        found.append(Remark(code="method-unknown"))
    if not question.uses:
        found.append(Remark(code="any-use"))
    found.append(Remark(code="as-measured"))
    if question.cycle_weeks is not None and not question.is_foal:
        found += [Remark(code="usual-growth"), Remark(code="steady-cycle"), Remark(code="one-boot-throughout")]
    return tuple(found)


def _unusual(reading: HoofReading, *, animal_type: AnimalType) -> list[Caution]:
    low, high = USUAL_MM[animal_type]

    def caution(code: str, axis: AxisReading) -> Caution:
        facts = {"reading_mm": axis.mean_mm, "low_mm": low, "high_mm": high}
        return Caution(code=code, severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=facts)

    axes = {"width-unusual": reading.width, "length-unusual": reading.length}
    return [caution(code, axis) for code, axis in axes.items() if not low <= axis.mean_mm <= high]


def _state(reading: HoofReading) -> list[Caution]:
    found = []
    if reading.states & FAULTS_OF_TRIM:
        found.append(Caution(code="trim-first", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE))
    if HoofState.DIRTY_SOLE in reading.states:
        found.append(Caution(code="sole-not-clean", severity=Severity.NOTE, source=COMMON_PRACTICE))
    if HoofState.WEIGHTED in reading.states:
        found.append(Caution(code="hoof-was-weighted", severity=Severity.NOTE, source=COMMON_PRACTICE))
    return found


def _worse_from(limit: float, value: float) -> Severity:
    return Severity.LOOK_AGAIN if value >= limit else Severity.NOTE
