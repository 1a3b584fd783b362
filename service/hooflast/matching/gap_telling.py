"""Gap telling: a plane of the coverage and its gaps, in sentences."""

from hooflast.errors import Fact
from hooflast.matching.coverage_answer import CoverageGap, CoveredPlane
from hooflast.texts import Texts


def plane_facts(plane: CoveredPlane, *, texts: Texts) -> dict[str, Fact]:
    """What is said of a plane."""
    return {
        "animal": texts.say(f"animal_type.{plane.animal_type}"),
        "limbs": plane.limbs.value,
        "served_chance": plane.served,
        "count": len(plane.gaps),
    }


def gap_text(gap: CoverageGap, *, texts: Texts) -> str:
    """Where a gap lies, how large it is, and which size comes nearest."""
    facts: dict[str, Fact] = {
        "number": gap.number,
        "width_mm": gap.width_mm,
        "length_mm": gap.length_mm,
        "gap_chance": gap.share,
        "shape": gap.shape.value,
    }
    if gap.nearest is not None:
        facts |= {"boot": gap.nearest.boot.name, "size": gap.nearest.size.code}
    return texts.say("coverage.gap", facts)
