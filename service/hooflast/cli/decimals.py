"""Decimals: numbers on the command line, written with a point or with a comma before their decimals."""

import re
from typing import Any, Final

import click

_WITH_COMMA: Final = re.compile(r"[-+]?[0-9]*,[0-9]+")


class Decimals(click.ParamType[float]):
    """A number, as any of our languages writes one without marks between its thousands."""

    name = "float"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: PLR0917
        """The number that was written; what is none is refused in Click's own words."""
        if isinstance(value, str) and _WITH_COMMA.fullmatch(value):
            value = value.replace(",", ".")
        return float(click.FLOAT.convert(value, param, ctx))


DECIMAL: Final = Decimals()
