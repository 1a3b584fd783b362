"""Settings: where the data is, and what it does not tell itself."""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, FilePath, model_validator

from hooflast_fetching import FetchSettings

BootField = Literal[
    "closure", "shape", "limbs", "sides", "animal_types", "intended_uses", "suits_needs", "sold_as", "max_pad_mm",
    "discontinued_on", "note",
]  # fmt: skip


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class MakerEntry(_Part):
    """A maker, as catalog files name it."""

    id: str = Field(description="The maker's id.")
    name: str = Field(description="The maker's name, as the data has it.")


class StructuredDataSettings(_Part):
    """The data and what it does not tell itself."""

    makers: list[MakerEntry] = Field(min_length=1, description="Every maker of a boot in the data.")
    files: list[FilePath] = Field(default=[], description="Files of JSON-LD.")
    addresses: list[str] = Field(default=[], description="Addresses of JSON-LD, or of pages that hold it.")
    always: dict[BootField, Any] = Field(default={}, description="Fields of a boot that the data does not tell.")
    chart_step: float = Field(1, gt=0, description="What lengths are rounded to, in mm.")
    complete: bool = Field(default=False, description="Whether what is missing is no longer offered.")
    fetching: FetchSettings = Field(FetchSettings(), description="How addresses are fetched.")

    @model_validator(mode="after")
    def _is_somewhere(self) -> "StructuredDataSettings":
        if not self.files and not self.addresses:
            raise ValueError("neither files nor addresses are given")
        if len({file.name for file in self.files}) < len(self.files):
            raise ValueError("two files have one name")
        return self
