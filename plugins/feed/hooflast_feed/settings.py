"""Settings: where the feed is, and the JMESPath expressions that say what stands in it."""

from functools import cache
from typing import Annotated, Any, Literal

import jmespath
from jmespath.exceptions import JMESPathError
from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from hooflast_fetching import FetchSettings

BootField = Literal[
    "id", "maker", "name", "closure", "shape", "limbs", "sides", "animal_types", "intended_uses", "suits_needs",
    "sold_as", "chart_unit", "chart_step", "max_pad_mm", "discontinued_on", "successor", "note",
]  # fmt: skip
SizeField = Literal["code", "width", "length", "gtin"]


@cache
def compiled(expression: str) -> Any:
    """A JMESPath expression. Raises JMESPathError."""
    return jmespath.compile(expression)


def _compiles(expression: str) -> str:
    try:
        compiled(expression)
    except JMESPathError as error:
        raise ValueError(" ".join(str(error).split())) from None
    return expression


Expression = Annotated[str, AfterValidator(_compiles)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MakerEntry(_Part):
    """A maker, as catalog files name it."""

    id: str = Field(description="The maker's id.")
    name: str = Field(description="The maker's name.")


class FeedSettings(_Part):
    """The feed and what stands in it."""

    url: str = Field(description="The first page.")
    makers: list[MakerEntry] = Field(min_length=1, description="Every maker of a boot in the feed.")
    boots: Expression = Field(description="The boots of a page.")
    boot: dict[BootField, Expression] = Field(description="For each field of a boot, what says it.")
    sizes: Expression = Field(description="The sizes of a boot.")
    size: dict[SizeField, Expression] = Field(description="For each field of a size, what says it.")
    words: dict[BootField, dict[str, str]] = Field(default={}, description="What the feed's own words mean.")
    next: Expression | None = Field(None, description="The address of the next page.")
    most_pages: int = Field(100, ge=1, le=1000, description="How many pages are read at most.")
    complete: bool = Field(default=False, description="Whether what is missing is no longer offered.")
    fetching: FetchSettings = Field(FetchSettings(), description="How pages are fetched.")
