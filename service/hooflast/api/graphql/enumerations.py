"""Enumerations: Hooflast's words as GraphQL enumerations, each made once."""

import inspect
from enum import StrEnum
from functools import cache
from typing import Any

import strawberry

from hooflast.api.graphql.naming import output_name


@cache
def enumeration(words: type[StrEnum]) -> Any:
    """The enumeration of some words; its values are their names (`HEEL_PAIN` for `heel_pain`)."""
    return strawberry.enum(words, name=output_name(words), description=inspect.getdoc(words))
