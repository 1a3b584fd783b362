"""Matching: one horse in, boots out, with reasons, cautions, assumptions and a signed receipt.

    question    what is asked, as values
    answer      what is said, as values
    shelf       a catalog release laid out as arrays for `fit`
    live_catalog  the catalog releases that are served; laying_apart and layout_process make a shelf of a large one
    choosing    which boot models come into question at all: filters, never scores
    reasons     why a boot model is where it is, and what to be careful about with it
    cautions    what to be careful about with a reading, a hoof, a horse
    comparisons what stands out among a horse's readings
    needs       what practice says to a named condition
    boot_fits   one boot model and one size on one hoof, from numbers to what is said
    alternatives, trying, turning   other shapes, the order of sizes, and what would change the size
    wearing, troubleshooting        what to do with the boots, and what may be behind a trouble
    versions    what an answer depends on besides its question
    match_horse the computation: question and shelf to answer
    level_pairs one boot model for both hooves of a pair
    whole_horse what to buy for one horse: plan_question and plan_answer, sale, planning, and how a plan is told in
                plan_telling, plan_trades and plan_gaps
    bulk        the likeliest boots for very many hooves, each by its reading alone
    receipt     the signed reference to one answer
    memo        answers worked out before, so that the same question is not worked out twice
    answering   the use case: match, write, sign, keep
    answering_again  a kept question answered as it was
    taking_up   every plugin asked and what is new taken into the store; publishing: its steps
    seals       what is signed of a catalog release when it is published, and how anybody verifies it
    chart_pictures  a size chart drawn with what is doubtful in it
    release_effects  which hooves another catalog release answers otherwise
    trim_cycle  a boot over the weeks between two trims; trim_cycle_answer its values, trim_cycle_advice what to do,
                cycle_picture the same drawn
    fitting_trial  a boot model tried on a hoof, size by size: fitting_answer its values, fitting_ahead what lies ahead,
                trying_on how a boot is put on and looked at
    pictures    an answer drawn; likelihood and gravity say how likely a fit is, and which caution matters most
    errors      what matching raises

Knows no web and no file format: whoever writes an answer down is handed in.
"""
