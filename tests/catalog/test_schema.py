"""The published schema: valid itself, in step with the words of the code, and agreed on by a second validator."""

import json
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from hooflast.catalog.reading import read_files
from hooflast.catalog.structure import catalog_file_schema, structure_faults
from hooflast.catalog.values import AccessoryKind, LimbSet, Sides, SoldAs
from hooflast.errors import InputRefused
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType
from hooflast.units import Unit

from .strategies import FORMAT, anything, as_file, bounded, places, records

SCHEMA = catalog_file_schema()
SECOND = jsonschema_rs.Draft202012Validator(json.dumps(SCHEMA), validate_formats=True)
BOOT = SCHEMA["$defs"]["boot"]["properties"]


def test_the_schema_is_valid_by_the_metaschema_in_two_validators() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    jsonschema_rs.meta.validate(dict(SCHEMA))


def test_the_schema_ships_inside_the_package() -> None:
    assert files("hooflast.catalog").joinpath("catalog-file.schema.json").is_file()
    assert SCHEMA["$id"].startswith("https://hooflast.example/")


@pytest.mark.parametrize(
    ("listed", "words"),
    [
        (BOOT["closure"]["enum"], Closure),
        (BOOT["shape"]["enum"], ShapeClass),
        (BOOT["limbs"]["enum"], LimbSet),
        (BOOT["sides"]["enum"], Sides),
        (BOOT["animal_types"]["items"]["enum"], AnimalType),
        (BOOT["intended_uses"]["items"]["enum"], IntendedUse),
        (BOOT["suits_needs"]["items"]["enum"], Need),
        (BOOT["chart_unit"]["enum"], Unit),
        (SCHEMA["$defs"]["sold_as"]["enum"], SoldAs),
        (SCHEMA["$defs"]["accessory"]["properties"]["kind"]["enum"], AccessoryKind),
    ],
)
def test_the_schema_lists_exactly_the_words_of_the_code(listed: list[str], words: type) -> None:
    assert sorted(listed) == sorted(map(str, words))  # type: ignore[call-overload]


@bounded
@given(records())
def test_both_validators_accept_every_edition_that_is_well_formed(edition: dict[str, Any]) -> None:
    content = {"format": FORMAT, **edition}
    assert structure_faults(content) == []
    assert SECOND.is_valid(content)


@bounded
@given(edition=records(), replacement=anything, data=st.data())
def test_both_validators_agree_on_an_edition_with_one_value_replaced(
    edition: dict[str, Any], replacement: object, data: st.DataObject
) -> None:
    content = {"format": FORMAT, **edition}
    *above, last = data.draw(st.sampled_from(sorted(places(content), key=str)))
    holder: Any = content
    for step in above:
        holder = holder[step]
    holder[last] = replacement
    assert (structure_faults(content) == []) == SECOND.is_valid(content)


@bounded
@given(edition=records(), replacement=anything, data=st.data())
def test_a_file_that_is_read_is_one_that_the_schema_accepts(
    edition: dict[str, Any], replacement: object, data: st.DataObject
) -> None:
    """As far as a schema can say: what the reader refuses beyond it lies between several values."""
    content = {"format": FORMAT, **edition}
    assert read_files([as_file(content)], plugin="demo").boots
    *above, last = data.draw(st.sampled_from(sorted(places(content), key=str)))
    holder: Any = content
    for step in above:
        holder = holder[step]
    holder[last] = replacement
    try:
        read_files([as_file(content)], plugin="demo")
    except InputRefused:
        return
    assert SECOND.is_valid(content)


def test_every_list_and_every_open_object_has_an_upper_bound() -> None:
    for part in parts(SCHEMA):
        if part.get("type") == "array":
            assert "maxItems" in part
        if part.get("type") == "object" and part.get("additionalProperties") is not False:
            assert "maxProperties" in part


def parts(value: object) -> Iterator[dict[str, Any]]:
    """Every object in the schema."""
    if isinstance(value, dict):
        yield value
    for entry in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from parts(entry)


@bounded
@given(anything)
def test_every_departure_from_the_schema_is_told_as_a_fault(content: object) -> None:
    assert structure_faults(content) != []
