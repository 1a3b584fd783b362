"""Outcome: what became of a sold boot, and what each outcome says of where the hoof lay in the size.

Along one axis a hoof lies past the loose edge, in the range, or past the tight one. A boot that broke or came back for
another reason says nothing of fit, since that happens alike wherever the hoof lies. Every other boot is kept with a
chance that goes by the side it errs on (people keep loose boots), and if it is returned, a reason is given:

    P(kept | places)   = κ_fine · κ_loose^[an axis is loose] · κ_tight^[an axis is tight]
    P(reason | places) = (1 − P(kept | places)) · REASONS

"Too small" and "too large" do not say on which axis. A boot that turned points to loose width, one that came off to
loose length. "Wrong shape" is a tight axis beside a loose one, not a middle between too small and too large.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import log
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from hooflast.fit.hoof import Method
from hooflast.fit.normal import Floats


class Outcome(StrEnum):
    """What became of a sold boot: kept, or returned for the reason that was given."""

    KEPT = "kept"
    TOO_SMALL = "too_small"
    TOO_LARGE = "too_large"
    TURNED = "turned"
    RUBBED = "rubbed"
    CAME_OFF = "came_off"
    WRONG_SHAPE = "wrong_shape"
    BROKE = "broke"
    OTHER = "other"


class Channel(StrEnum):
    """Where a boot was sold, and so who put the measuring tape in whose hand."""

    WEB = "web"
    COUNTER = "counter"
    CLINIC = "clinic"
    FITTER = "fitter"


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class ReadingGroup:
    """Readings that may be off in common: one method, used by the people of one channel."""

    method: Method
    channel: Channel


OF_FIT: Final = tuple(outcome for outcome in Outcome if outcome not in (Outcome.BROKE, Outcome.OTHER))
"""The outcomes that say something of fit: kept first, then the reasons in the order of REASONS' last axis."""

LOOSE, IN_RANGE, TIGHT = range(3)
"""Places along one axis, in the order of a growing hoof."""


class Side(StrEnum):
    """What a boot is kept by: `fine` whatever its fit, `loose` and `tight` where an axis errs on that side."""

    FINE = "fine"
    LOOSE = "loose"
    TIGHT = "tight"


SIDES: Final = tuple(Side)

USUALLY_KEPT: Final = MappingProxyType({Side.FINE: 0.97, Side.LOOSE: 0.6, Side.TIGHT: 0.15})
"""Chance that a boot is kept, by side [C]; to begin with, for outcomes correct it."""

USUALLY_KEPT_LOGITS: Final[Floats] = np.array([log(USUALLY_KEPT[side] / (1.0 - USUALLY_KEPT[side])) for side in SIDES])

_ANY_LOOSE: Final[Floats] = np.array([[1.0, 1.0, 1.0], [1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
_ANY_TIGHT: Final[Floats] = np.flip(_ANY_LOOSE)

TAKES_PART: Final[Floats] = np.stack([np.ones((3, 3)), _ANY_LOOSE, _ANY_TIGHT])
"""Whether a side plays a part (3 sides) at a place in width (3) and in length (3)."""

_NO_MATTER: Final = (1 / 6, 1 / 6, 1 / 6, 1 / 6, 1 / 6, 1 / 6)
_TIGHT: Final = (0.85, 0.01, 0.01, 0.10, 0.02, 0.01)
_LOOSE_WIDTH: Final = (0.02, 0.50, 0.30, 0.08, 0.08, 0.02)
_LOOSE_LENGTH: Final = (0.02, 0.50, 0.10, 0.08, 0.28, 0.02)
_LOOSE_BOTH: Final = (0.01, 0.60, 0.16, 0.08, 0.14, 0.01)
_LOOSE_WIDTH_TIGHT_LENGTH: Final = (0.22, 0.05, 0.10, 0.10, 0.03, 0.50)
_TIGHT_WIDTH_LOOSE_LENGTH: Final = (0.22, 0.05, 0.03, 0.10, 0.10, 0.50)

REASONS: Final[Floats] = np.array(
    [
        [_LOOSE_BOTH, _LOOSE_WIDTH, _LOOSE_WIDTH_TIGHT_LENGTH],
        [_LOOSE_LENGTH, _NO_MATTER, _TIGHT],
        [_TIGHT_WIDTH_LOOSE_LENGTH, _TIGHT, _TIGHT],
    ]
)
"""Chance of each reason (too small, too large, turned, rubbed, came off, wrong shape), given that a boot is returned,
by place in width (3) and in length (3), shape (3, 3, 6) [C]. What words point to is common practice [CP]."""


def kept_chances(logits: Floats) -> Floats:
    """Chance of being kept at each place in width and length (..., 3, 3), from the logits of κ (..., 3) by SIDES."""
    by_side = expit(logits)[..., None, None]
    kept: Floats = np.prod(np.where(TAKES_PART > 0.0, by_side, 1.0), axis=-3)
    return kept


def told_by(outcomes: NDArray[np.intp], *, logits: Floats) -> Floats:
    """P(outcome | places) at each place in width and in length, (N, 3, 3), for N outcomes as indices into OF_FIT."""
    kept = kept_chances(logits)
    return np.where(_is_kept(outcomes), kept, (1.0 - kept) * _reason(outcomes))


def told_by_slopes(outcomes: NDArray[np.intp], *, logits: Floats) -> tuple[Floats, Floats]:
    """First and second derivatives of `told_by` in the logits, shapes (N, 3, 3, 3) and (N, 3, 3, 3, 3), logits first.

    With κ the product of those κ_i that take part, ∂κ/∂α_i = κ(1 − κ_i), ∂²κ/∂α_i² = κ(1 − κ_i)(1 − 2κ_i) and
    ∂²κ/∂α_i∂α_j = κ(1 − κ_i)(1 − κ_j).
    """
    by_side = expit(logits)[..., None, None]
    rates = TAKES_PART * (1.0 - by_side)
    first = kept_chances(logits)[..., None, :, :] * rates
    second = first[..., :, None, :, :] * rates[..., None, :, :, :]
    for side in range(len(SIDES)):
        second[..., side, side, :, :] = first[..., side, :, :] * (1.0 - 2.0 * by_side[..., side, :, :])
    sign = np.where(_is_kept(outcomes), 1.0, -_reason(outcomes))
    return first * sign[:, None], second * sign[:, None, None]


def _is_kept(outcomes: NDArray[np.intp]) -> NDArray[np.bool_]:
    kept: NDArray[np.bool_] = (outcomes == OF_FIT.index(Outcome.KEPT))[:, None, None]
    return kept


def _reason(outcomes: NDArray[np.intp]) -> Floats:
    """The reason's chances by place (N, 3, 3); any reason's where a boot was kept."""
    return np.moveaxis(REASONS, -1, 0)[np.maximum(outcomes - 1, 0)]
