"""Trying on: how a boot is put on, looked at, moved in and followed up, as what to do for each advice.

Common practice, no source. The sentences stand in `texts` under `trying.<code>`.
"""

from typing import Final

from hooflast.fit.findings import Finding
from hooflast.fit.remark import Remark
from hooflast.fit.trial import Trial
from hooflast.matching.fitting_answer import Advice

HANDLING: Final = (Remark(code="hold-the-limb-low"), Remark(code="helper"))
PUT_ON: Final = (Remark(code="clean-foot"), Remark(code="never-force"), Remark(code="seat-the-heel"))
TURN: Final = (Remark(code="turn-by-hand"),)
MOVE: Final = (
    Remark(code="walk-trot-circles", facts={"from_minutes": 10, "to_minutes": 15}),
    Remark(code="look-at-the-heel-gap"),
    Remark(code="look-at-the-rotation"),
    Remark(code="look-at-the-bulbs"),
    Remark(code="end-when-lamer"),
)
FOLLOW_UPS: Final = (Remark(code="first-ride"), Remark(code="first-week"), Remark(code="first-month"))
STANDING: Final = (Remark(code="no-movement-test"), Remark(code="look-while-it-stands"))
AT_HOME: Final = (Remark(code="clean-and-indoors"), Remark(code="keep-it-as-new"))

TO_DO: Final = {
    Advice.TRY: (*HANDLING, *PUT_ON, *TURN),
    Advice.TRY_AGAIN: (Remark(code="closure-again"), *HANDLING, *PUT_ON, *TURN),
    Advice.SEAT_AGAIN: (Remark(code="seat-again"), *HANDLING, *TURN),
    Advice.MOVE: MOVE,
    Advice.KEEP: FOLLOW_UPS,
    Advice.CHANGE_BOOT: (),
    Advice.MEASURE_AGAIN: (Remark(code="measure-again"), Remark(code="same-foot-same-boot")),
    Advice.STOP: (Remark(code="static-looks-only"),),
}
"""What to do, in order; nothing here forces a boot on, and only a boot that stays put is moved in."""

LOOKED_AT: Final = frozenset({Advice.TRY, Advice.TRY_AGAIN, Advice.SEAT_AGAIN})


def to_do(
    advice: Advice, *, may_move: bool = True, at_home: bool = False, fit_indicator: str = ""
) -> tuple[Remark, ...]:
    """What to do and how. `at_home`: the boot may have to go back, so it is kept as new. `fit_indicator`: how it shows
    by itself whether it fits."""
    steps = TO_DO[advice] if may_move or advice is not Advice.KEEP else STANDING
    if fit_indicator and advice in LOOKED_AT:
        steps = (*steps, Remark(code="read-the-indicator", facts={"indicator_note": fit_indicator}))
    return (*AT_HOME, *steps) if at_home and advice in (LOOKED_AT | {Advice.MOVE}) else steps


def why_left(trial: Trial) -> Remark:
    """Why a boot model is left: what its sizes tried have shown."""
    found = {one.seen.finding for one in trial.tried} - {Finding.STAYS_PUT}
    too_large, too_small = Finding.TURNS in found, bool(found - {Finding.TURNS})
    if too_large and too_small:
        return Remark(code="between-sizes")
    if too_large:
        return Remark(code="no-size-small-enough")
    if too_small:
        return Remark(code="no-size-large-enough")
    return Remark(code="no-size-worth-a-try")
