"""GTIN: the check digit of a Global Trade Item Number.

Source: GS1, How to calculate a check digit manually, https://www.gs1.org/how-calculate-check-digit-manually.
"""


def check_digit(digits: str) -> str:
    """The check digit that belongs behind `digits`: weights 3 and 1 alternate from the right, beginning with 3."""
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)
