"""Fitting ahead: a fitting trial as the fit engine has it, and what lies ahead: exchanges, the next boot model."""

from collections.abc import Iterable
from datetime import date
from typing import Final

import numpy as np

from hooflast.catalog.values import BootId
from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.findings import LAST_LOOK, Finding, Seen
from hooflast.fit.grid import Grid
from hooflast.fit.lookahead import Outlook, shortest
from hooflast.fit.match import match_hoof
from hooflast.fit.next_step import NextStep, Step, next_step
from hooflast.fit.trial import Trial, TryOn, begin_trial, carry_over, hoof_lattice, one_normal
from hooflast.matching.choosing import choose_boots, wish_rank
from hooflast.matching.fitting_answer import Advice, Exchange, Expected, FittingQuestion, NextBoot
from hooflast.matching.shelf import Shelf

LIKELY_FINDING: Final = 0.05
"""A finding of the boot at home less likely than this gets no exchange named beforehand [C]."""

BOOTS_LOOKED_AT: Final = 5
"""How far down the ranking a boot model is looked for of which some size is worth a try."""


def trial_of(question: FittingQuestion, shelf: Shelf, *, boot: BootId) -> Trial:
    """The trial of one boot model, with what other boot models taught carried over."""
    others = [one.boot for one in question.tried if one.boot != boot]
    return begin_trial(
        learned_hoof(question, shelf, boots=others),
        shelf.table,
        sizes=shelf.table.sizes_of(place_of(boot, shelf=shelf)),
        tried=_try_ons(question, shelf, boot=boot),
        carried=[one for other in dict.fromkeys(others) for one in _try_ons(question, shelf, boot=other)],
    )


def learned_hoof(question: FittingQuestion, shelf: Shelf, *, boots: Iterable[BootId]) -> Grid:
    """The hoof with what was seen of some boot models, each with an offset of its own."""
    hoof = hoof_lattice(_estimate(question))
    for boot in dict.fromkeys(boots):
        sizes = shelf.table.sizes_of(place_of(boot, shelf=shelf))
        hoof = carry_over(hoof, shelf.table, sizes=sizes, tried=_try_ons(question, shelf, boot=boot))
    return hoof


def best_by_measurement(question: FittingQuestion, shelf: Shelf, *, boot: BootId) -> int:
    """The size of largest expected worth before anything was tried."""
    at = place_of(boot, shelf=shelf)
    rows = shelf.table.sizes_of(at)
    edges, deviations = (field[rows.start : rows.stop] for field in (shelf.table.edges_mm, shelf.table.edge_sd_mm))
    corners = corner_chances(_estimate(question), edges_mm=edges, edge_sd_mm=deviations)
    return rows[int(np.argmax(expected_worth(corners, steps=preference(shelf.table.closures[at]))))]


def waits_at_home(question: FittingQuestion, shelf: Shelf, *, trial: Trial, step: NextStep) -> int | None:
    """The size at home while it waits to be tried: it is there, whatever an order would begin with."""
    if question.at_home is None or step.step not in (Step.TRY, Step.CHANGE_BOOT):
        return None
    size = next(size for size in trial.sizes if shelf.sizes[size].code == question.at_home)
    return None if size in trial.tried_sizes else size


def exchanges(question: FittingQuestion, shelf: Shelf, *, trial: Trial, size: int, best: int) -> tuple[Exchange, ...]:
    """What to do after each finding of the size at home that is likely enough, and the size to exchange it for."""
    found = []
    for finding in LAST_LOOK:
        after = trial.with_try_on(size, Seen(finding=finding))
        chance = after.evidence / trial.evidence
        if finding is not Finding.STAYS_PUT and chance >= LIKELY_FINDING:
            step = next_step(after, order=question.order, best=best)
            code = shelf.sizes[step.size].code if step.step is Step.TRY and step.size is not None else None
            found.append(Exchange(finding=finding, chance=chance, advice=Advice(step.step.value), size=code))
    return tuple(found)


def next_boot(question: FittingQuestion, shelf: Shelf, *, today: date) -> NextBoot | None:
    """The first boot model of the ranking, after everything that was seen, of which some size is worth a try."""
    (reading,) = question.horse.hooves
    tried = {question.boot, *(one.boot for one in question.tried)}
    chosen = choose_boots(question.horse, shelf, today=today).boots[reading.limb]
    hoof = learned_hoof(question, shelf, boots=[one.boot for one in question.tried])
    ranked = match_hoof(
        one_normal(hoof),
        shelf.layout,
        boots=np.array([at for at in chosen if shelf.boots[at].id not in tried], dtype=np.intp),
        wish_rank=[wish_rank(boot, question.horse) for boot in shelf.boots],
        at_most=BOOTS_LOOKED_AT,
    )
    for match in ranked.boots:
        outlook = shortest(begin_trial(hoof, shelf.table, sizes=shelf.table.sizes_of(match.boot)))
        if outlook.size is not None:
            boot = shelf.boots[match.boot]
            maker = shelf.release.makers[boot.maker]
            return NextBoot(boot=boot, maker=maker, expected=expected(outlook, shelf=shelf))
    return None


def expected(outlook: Outlook, *, shelf: Shelf) -> Expected:
    """An outlook with its size by its code."""
    size = None if outlook.size is None else shelf.sizes[outlook.size].code
    return Expected(size=size, try_ons=outlook.try_ons, ends_fitting=outlook.ends_fitting)


def place_of(boot: BootId, *, shelf: Shelf) -> int:
    """Where a boot model stands on the shelf."""
    return next(place for place, one in enumerate(shelf.boots) if one.id == boot)


def _estimate(question: FittingQuestion) -> Estimate:
    (reading,) = question.horse.hooves
    return estimate_hoof(reading, animal_type=question.horse.animal_type)


def _try_ons(question: FittingQuestion, shelf: Shelf, *, boot: BootId) -> tuple[TryOn, ...]:
    """The try-ons of one boot model, in order, with their sizes as indices into the table."""
    places = {shelf.sizes[row].code: row for row in shelf.table.sizes_of(place_of(boot, shelf=shelf))}
    return tuple(TryOn(places[one.size], one.seen) for one in question.tried if one.boot == boot)
