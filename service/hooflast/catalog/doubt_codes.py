"""Doubt codes: what may be wrong with a catalog release that could be served. `doubt.<code>` in texts says each."""

from enum import StrEnum


class DoubtCode(StrEnum):
    """What may be wrong with a catalog release that could be served."""

    NOTHING_CHANGED = "nothing_changed"
    OLDER_THAN_ACTIVE = "older_than_active"
    BOOT_GONE = "boot_gone"
    MAKER_GONE = "maker_gone"
    SIZE_GONE = "size_gone"
    SIZE_MOVED = "size_moved"
    SIZES_REORDERED = "sizes_reordered"
    SIZES_OVERLAP = "sizes_overlap"
    SIZE_SWALLOWED = "size_swallowed"
    GAP_BETWEEN_SIZES = "gap_between_sizes"
    AXIS_MISSING = "axis_missing"
    AXIS_MISSING_IN_SOME = "axis_missing_in_some"
    RANGE_NARROW = "range_narrow"
    RANGE_WIDE = "range_wide"
    SAME_NAME = "same_name"
    CODES_ALIKE = "codes_alike"
    NAME_SPACED = "name_spaced"
