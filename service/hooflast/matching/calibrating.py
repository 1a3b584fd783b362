"""Calibrating: from outcomes and a shelf to a calibration proposal; the same one in whatever order outcomes come."""

import hashlib
from collections import Counter
from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from hooflast.errors import Fault, InputRefused
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.evidence import Evidence, Reliability, evidence, hold_out, reliability
from hooflast.fit.hoof import HoofReading, Method
from hooflast.fit.learned import LearnedBoot, learned_all
from hooflast.fit.learning import learn
from hooflast.fit.offset_prior import Priors, design
from hooflast.fit.outcome import OF_FIT
from hooflast.fit.remark import Caution, Footing, Remark, Severity
from hooflast.fit.sale import Sale, estimate_gains, lay_out_sales, reading_gains
from hooflast.matching.calibration import BootOffset, CalibrationProposal, SizeOffset
from hooflast.matching.outcomes import OutcomesQuestion, ReceiptedHoof, SoldBoot
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of

CONVENTION: Final = Footing.CONVENTION
SMALL_GAINS: Final = "Sembium et al., RecSys 2017"
HOSMER_LEMESHOW: Final = "Hosmer and Lemeshow, Commun. Stat. Theory Methods 1980"


def propose_calibration(question: OutcomesQuestion, shelf: Shelf, *, language: str) -> CalibrationProposal:
    """Learn from outcomes. Raises InputRefused with every boot model and size the catalog release does not have."""
    places = _places(question, shelf)
    written = sorted(
        ((msgspec.json.encode(boot, order="deterministic"), boot) for boot in question.sold), key=lambda pair: pair[0]
    )
    sold = [boot for _, boot in written if boot.outcome in OF_FIT]
    orders = [boot.order or row for row, boot in enumerate(sold)]
    makers = _makers(shelf)
    sales = lay_out_sales([_sale(boot, size=places[boot.boot, boot.size]) for boot in sold], shelf.table)
    found = learned_all(learn(design(sales, shelf.table, makers=makers, priors=Priors())), shelf.table)
    held_out = hold_out(sales, shelf.table, makers=makers, priors=Priors(), orders=orders)
    boot_of = shelf.table.boot_of[sales.sizes]

    def seen(rows: NDArray[np.intp]) -> Evidence:
        return evidence(held_out, sales, rows=rows, orders=orders)

    boots = tuple(_boot(each, shelf, seen=seen(np.flatnonzero(boot_of == each.boot))) for each in found.boots)
    digest = hashlib.sha256(b"\n".join(line for line, _ in written))
    borne_out = reliability(held_out, sales) if sold else None
    return CalibrationProposal(
        learned_from=f"sha256-{digest.hexdigest()}",
        outcomes=dict(sorted(Counter(boot.outcome for boot in question.sold).items())),
        set_aside=len(written) - len(sold),
        boots=boots,
        biases=found.biases,
        keeping=found.keeping,
        whole=seen(np.arange(len(sold))) if sold else None,
        reliability=borne_out,
        cautions=_cautions(boots, reliability=borne_out),
        assumptions=_assumptions(question),
        versions=versions_of(shelf, language=language),
    )


def _places(question: OutcomesQuestion, shelf: Shelf) -> dict[tuple[str, str], int]:
    """Where each size stands in the shelf's table, by the ids of boot model and size. Raises InputRefused."""
    places: dict[tuple[str, str], int] = {
        (model.id, shelf.sizes[row].code): row
        for boot, model in enumerate(shelf.boots)
        for row in shelf.table.sizes_of(boot)
    }
    models = {str(model.id): model for model in shelf.boots}
    faults = []
    for row, sold in enumerate(question.sold):
        model = models.get(sold.boot)
        if model is None:
            faults.append(Fault(path=("outcomes", row, "boot"), code="boot-unknown", received=sold.boot))
        elif (sold.boot, sold.size) not in places:
            facts = {"boot": model.name, "accepted_list": ", ".join(size.code for size in model.sizes)}
            faults.append(Fault(path=("outcomes", row, "size"), code="size-unknown", received=sold.size, facts=facts))
    if faults:
        raise InputRefused(faults=tuple(faults))
    return places


def _makers(shelf: Shelf) -> list[int]:
    """The maker of each boot model, by number."""
    numbers = {maker: number for number, maker in enumerate(sorted(shelf.release.makers))}
    return [numbers[boot.maker] for boot in shelf.boots]


def _sale(sold: SoldBoot, *, size: int) -> Sale:
    hoof = sold.hoof
    if isinstance(hoof, HoofReading):
        estimate = estimate_hoof(hoof, animal_type=sold.animal_type)
        gains = reading_gains(hoof, animal_type=sold.animal_type)
    else:
        estimate = _as_receipted(hoof)
        gains = estimate_gains(estimate, animal_type=sold.animal_type, limb=hoof.limb)
    return Sale(estimate=estimate, gains=gains, size=size, group=sold.group, outcome=sold.outcome)


def _as_receipted(hoof: ReceiptedHoof) -> Estimate:
    """One normal with the moments that the receipt states."""
    width_sd, length_sd = hoof.deviations_mm
    shared = hoof.correlation * width_sd * length_sd
    return Estimate(
        weights=np.ones(1),
        means=np.array([hoof.means_mm]),
        covariances=np.array([[[width_sd**2, shared], [shared, length_sd**2]]]),
    )


def _boot(found: LearnedBoot, shelf: Shelf, *, seen: Evidence) -> BootOffset:
    model = shelf.boots[found.boot]
    return BootOffset(
        boot=model,
        maker=shelf.release.makers[model.maker],
        offsets=found.offsets,
        sizes=tuple(SizeOffset(size=shelf.sizes[size], offsets=offsets) for size, offsets in found.sizes.items()),
        unclear=found.unclear,
        evidence=seen,
    )


def _cautions(boots: Sequence[BootOffset], *, reliability: Reliability | None) -> tuple[Caution, ...]:
    found = [Caution(code="calibration-not-switched-on", severity=Severity.NOTE, source=CONVENTION)]
    if any(boot.is_proposed for boot in boots):
        found.append(Caution(code="expect-small-gains", severity=Severity.NOTE, source=SMALL_GAINS))
    else:
        found.append(Caution(code="no-offset-proposed", severity=Severity.NOTE, source=CONVENTION))
    if reliability is not None and not reliability.borne_out:
        found.append(Caution(code="keeping-not-borne-out", severity=Severity.LOOK_AGAIN, source=HOSMER_LEMESHOW))
    return tuple(found)


def _assumptions(question: OutcomesQuestion) -> tuple[Remark, ...]:
    found = [Remark(code="outcomes-by-convention")]
    if any(boot.order is None for boot in question.sold):
        found.append(Remark(code="orders-apart"))
    if any(isinstance(boot.hoof, ReceiptedHoof) for boot in question.sold):
        found.append(Remark(code="receipts-as-told"))
    if any(boot.group.method is Method.UNKNOWN for boot in question.sold):
        found.append(Remark(code="method-unknown"))
    return tuple(found)
