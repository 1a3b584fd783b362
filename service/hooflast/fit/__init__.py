"""Fit: pure computation on hooves and boots, in millimetres.

    hoof, boot, remark, verdict   the words: enums and small values
    uncertainty    a reading's error as a covariance
    population     what hooves are like before anything is measured
    estimate       reading and population joined: the hoof as a distribution
    normal         the bivariate normal integral that every expectation comes down to
    sizes          size charts as arrays of edges: one link between hoof and size
    chances        expectations of one hoof against many sizes, in closed form
    series         the same expectations as a sum of products, for many sizes at once
    grid           the same hoof on a width–length grid, for what has no closed form: the best of several sizes
    ranking        closeness and bands of boot models
    layout         all boot models' closeness on one lattice of millimetres, laid out once
    match          one hoof against a whole table: ranked boot models and their sizes
    bulk           best sizes and fit chances of very many hooves that were read in one way
    sensitivity    how little another reading would have to differ for another size to be best
    shape          narrow, round or wide, with its chance
    comparing      a horse's readings against each other and their kind; slip: the one change that explains an odd one
    pad            the room a pad takes in a boot, and how far it lifts the hoof
    padded         one boot model's sizes with pads of several thicknesses, and how thick a pad it takes
    wearable       what one hoof could wear; buying: the cheapest way to get the boots of one size
    whole_horse    what to buy for up to four hooves at once; pair_choices, plan_search and plan_order: its parts
    growth         what a hoof gains each week and loses at a trim, before its own history is known
    history        a horse's own rates and trims, learned from dated readings
    cycle          one hoof and one boot over the trim cycle: which size holds, and when it turns
    findings       what is seen of a size that is tried on; trial: what that says about hoof and sizes
    lookahead      which size to try next, by look-ahead and as fitters do; next_step: what to do then
    girth          what chest girth says about hoof width
    herd, serving  many hooves, measured or drawn from their kind, and how likely each size fits each of them
    demand, covering, greedy, trial_set   the fewest sizes that serve a share of a herd, with a bound beside it
    coverage       what sizes take in the width–length plane, and the gaps they leave a herd
    outcome        what became of a sold boot, and what that says of where the hoof lay in the size
    sale           one boot on one hoof and its outcome; outcome_chances: how likely that was, with derivatives
    offset_prior   what is believed of offsets, readings and keeping beforehand; learning: what outcomes teach of them
    learned        that with intervals, sizes in order; evidence: whether it foretells outcomes that were held out

Nothing here reads a clock, a file, a setting, a database or a random generator; nothing here is asynchronous.
Inputs are checked once, by whoever builds the values; inner functions trust them.
Marks in docstrings: [S] published source, [CP] common practice, no source, [C] our convention, [M] from memory.
"""

from typing import Final

ENGINE: Final = "fit-2"
"""The engine's version: raised whenever the same question on the same catalog release gets other numbers."""
