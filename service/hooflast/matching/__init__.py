"""Matching: one horse in, boots out, with reasons, cautions, assumptions and a signed receipt.

    question    what is asked, as values
    answer      what is said, as values
    shelf       a catalog release laid out as arrays for `fit`
    choosing    which boot models come into question at all: filters, never scores
    reasons     why a boot model is where it is, and what to be careful about with it
    cautions    what to be careful about with a reading, a hoof, a horse
    match_horse the computation: question and shelf to answer
    receipt     the signed reference to one answer
    answering   the use case: match, write, sign, keep

Knows no web and no file format: the function that writes an answer down is handed in.
"""
