"""Demo: the horse that the start page shows, in the form of a match."""

from typing import Final

BRAMBLE: Final[dict[str, object]] = {
    "horse": {"name": "Bramble", "animal_type": "horse"},
    "method": "tape",
    "observer": "owner",
    "weeks_since_trim": 1,
    "uses": ["hacking"],
    "hooves": [
        {"limb": "LF", "width": 124, "length": 127},
        {"limb": "RF", "width": 125, "length": 127},
        {"limb": "LH", "width": 119, "length": 125},
        {"limb": "RH", "width": "4 11/16 in", "length": "4 15/16 in"},
    ],
}
