"""Likelihood: a fit chance as a word for people who do not read per cents."""

from enum import StrEnum
from typing import Final

from hooflast.matching.reasons import DOUBTFUL


class Likelihood(StrEnum):
    """From unlikely to nearly sure."""

    UNLIKELY = "unlikely"
    DOUBTFUL = "doubtful"
    RATHER_LIKELY = "rather_likely"
    LIKELY = "likely"
    VERY_LIKELY = "very_likely"


FROM: Final = (
    (0.9, Likelihood.VERY_LIKELY),
    (0.75, Likelihood.LIKELY),
    (DOUBTFUL, Likelihood.RATHER_LIKELY),
    (0.25, Likelihood.DOUBTFUL),
    (0.0, Likelihood.UNLIKELY),
)
"""The fit chance from which each word is said [C]."""


def likelihood(fit_chance: float) -> Likelihood:
    """The word for a fit chance."""
    return next((word for least, word in FROM if fit_chance >= least), Likelihood.UNLIKELY)
