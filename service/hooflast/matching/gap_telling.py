"""Gap telling: a gap in the coverage, in a sentence."""

from hooflast.errors import Fact
from hooflast.matching.coverage_answer import CoverageGap
from hooflast.texts import Texts


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
