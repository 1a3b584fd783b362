"""What is written, held against RFC 8785's own examples: its appendix B and the samples of its sections 3.2.2 to 3.2.4.

A. Rundgren, B. Jordan, S. Erdtman: JSON Canonicalization Scheme (JCS). RFC 8785, June 2020.
"""

import json
import struct
from typing import Final

import pytest
import rfc8785

from hooflast.catalog.canonical import canonical

NUMBERS: Final = (
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
)
NO_NUMBERS: Final = ("7fffffffffffffff", "7ff0000000000000")
SAMPLE: Final = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
SAMPLE_BYTES: Final = """
    7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e
    75 6d 62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30
    2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24
    5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d
"""
SORTED: Final = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\U0001f600": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
}
IN_ORDER: Final = ("\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33")


def double(bits: str) -> float:
    return float(struct.unpack(">d", bytes.fromhex(bits))[0])


@pytest.mark.parametrize(("bits", "written"), NUMBERS)
def test_every_number_of_appendix_b_is_written_as_it_stands_there(bits: str, written: str) -> None:
    assert canonical((double(bits),)) == f"[{written}]".encode()


@pytest.mark.parametrize("bits", NO_NUMBERS)
def test_what_appendix_b_calls_an_error_is_refused(bits: str) -> None:
    with pytest.raises(rfc8785.FloatDomainError):
        canonical((double(bits),))


def test_the_sample_of_section_3_2_2_becomes_the_bytes_of_section_3_2_4() -> None:
    read = json.loads(SAMPLE)
    sample = {name: tuple(member) if isinstance(member, list) else member for name, member in read.items()}
    assert canonical(sample) == bytes.fromhex(SAMPLE_BYTES)


def test_members_stand_in_the_order_of_section_3_2_3() -> None:
    assert list(json.loads(canonical(SORTED))) == list(IN_ORDER)
