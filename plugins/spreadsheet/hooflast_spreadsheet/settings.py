"""Settings: which spreadsheets are read, and the mapping that says what stands in their columns."""

from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field, FilePath, model_validator

Field_ = Literal[
    "maker", "boot", "size", "width", "length", "gtin", "closure", "shape", "limbs", "sides", "animal_types",
    "intended_uses", "suits_needs", "sold_as", "max_pad_mm", "note",
]  # fmt: skip
"""What a column may hold."""

Columns = Annotated[str | list[str], Field(description="A column by its heading; two of them for the ends of a range.")]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MakerEntry(_Part):
    """A maker, as catalog files name it."""

    id: str = Field(description="The maker's id.")
    name: str = Field(description="The maker's name.")


class SheetMapping(_Part):
    """What one sheet holds. What is not in a column is taken from `always`."""

    sheet: str | None = Field(None, description="The sheet's name; left out, every sheet is read.")
    header_row: int | None = Field(None, ge=1, description="The row of the headings; left out, it is looked for.")
    columns: dict[Field_, Columns] = Field(description="For each field the heading of its column.")
    always: dict[Field_, Any] = Field(default={}, description="Fields that are the same in every row.")
    words: dict[Field_, dict[str, str]] = Field(
        default={}, description="For a field, what the sheet's words mean: its word, then Hooflast's."
    )
    unit: Literal["mm", "cm", "in"] = Field("mm", description="The unit of lengths that are written without one.")
    step: float | str = Field(1, description="What the chart's lengths are rounded to, in that unit.")
    open_span: float | None = Field(
        None,
        gt=0,
        description="How far a range reaches that has one end only, such as “<124”; left out, it is refused.",
    )
    fill_down: list[Field_] = Field(default=[], description="Fields whose empty cells mean the one above.")

    @model_validator(mode="after")
    def _is_enough(self) -> "SheetMapping":
        told = {*self.columns, *self.always}
        missing = {"maker", "boot", "size"} - told
        if missing:
            raise ValueError(f"nothing says the {', '.join(sorted(missing))}")
        if not {"width", "length"} & set(self.columns):
            raise ValueError("neither width nor length has a column")
        for name, columns in self.columns.items():
            if isinstance(columns, list) and (name not in {"width", "length"} or len(columns) != 2):
                raise ValueError(f"{name} has {len(columns)} columns; only width and length have two, low and high")
        return self


class Mapping(_Part):
    """The mapping file: the makers of the boots, and what each sheet holds."""

    makers: list[MakerEntry] = Field(min_length=1, description="Every maker of a boot in the sheets.")
    sheets: list[SheetMapping] = Field(min_length=1, description="The sheets that are read.")


class SpreadsheetSettings(_Part):
    """The spreadsheets, and their mapping."""

    files: list[FilePath] = Field(min_length=1, description="The spreadsheets: .xlsx or .csv.")
    mapping: FilePath = Field(description="The mapping file, in YAML.")
    released_on: date | None = Field(None, description="The day of the edition; left out, that of the newest file.")
    complete: bool = Field(default=False, description="Whether what is missing from it is no longer offered.")

    def read_mapping(self) -> Mapping:
        """The mapping that the file holds. Raises pydantic's ValidationError and yaml's YAMLError."""
        return Mapping.model_validate(yaml.safe_load(Path(self.mapping).read_text(encoding="utf-8")))
