"""Settings: which database, and the query that gives one row a size."""

import os
import re
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

_VARIABLE = re.compile(r"\$\{([A-Za-z_][A-Za-z0-9_]*)\}")
_SELECT = re.compile(r"\s*(select|with)\b[^;]*;?\s*", re.IGNORECASE | re.DOTALL)


def _is_url(written: str) -> str:
    try:
        make_url(_VARIABLE.sub("x", written))
    except ArgumentError:
        raise ValueError("it is no address of a database") from None
    return written


def _is_select(written: str) -> str:
    if not _SELECT.fullmatch(written):
        raise ValueError("it is not one SELECT statement")
    return written.strip().rstrip(";")


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MakerEntry(_Part):
    """A maker, as catalog files name it."""

    id: str = Field(description="The maker's id.")
    name: str = Field(description="The maker's name.")


class SqlSettings(_Part):
    """The database and the query."""

    url: Annotated[str, AfterValidator(_is_url)] = Field(description="The database, as SQLAlchemy writes it.")
    query: Annotated[str, AfterValidator(_is_select)] = Field(description="One SELECT statement, one row a size.")
    makers: list[MakerEntry] = Field(min_length=1, description="Every maker of a boot that the query gives.")
    words: dict[str, dict[str, str]] = Field(default={}, description="For a column, what its words mean.")
    most_rows: int = Field(60_000, ge=1, le=1_000_000, description="How many rows are read at most.")
    complete: bool = Field(default=False, description="Whether what is missing is no longer offered.")

    def address(self) -> str:
        """The database's address with the variables of the environment in it. Raises KeyError."""
        return _VARIABLE.sub(lambda found: os.environ[found[1]], self.url)
