"""Verdict: where a hoof lies in a size's range, per axis."""

from enum import StrEnum


class Verdict(StrEnum):
    """From the smallest clearance to the largest. Order matters: members are listed from tight to loose."""

    TOO_TIGHT = "too_tight"
    SNUG = "snug"
    EVEN = "even"
    ROOMY = "roomy"
    TOO_LOOSE = "too_loose"
