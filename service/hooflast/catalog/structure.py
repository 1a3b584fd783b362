"""Structure: whether a JSON value has the form the published schema of catalog files asks for."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from difflib import SequenceMatcher
from functools import cache
from importlib.resources import files
from typing import Any, Final

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError
from jsonschema.protocols import Validator

from hooflast.errors import Fact, Fault


@cache
def catalog_file_schema() -> Mapping[str, Any]:
    """The JSON Schema (2020-12) of a catalog file, as shipped with the package."""
    text = files("hooflast.catalog").joinpath("catalog-file.schema.json").read_text(encoding="utf-8")
    schema: Mapping[str, Any] = json.loads(text)
    return schema


def structure_faults(content: object) -> list[Fault]:
    """Every place where `content` departs from the schema, each once."""
    found: dict[object, Fault] = {}
    instance: Any = content
    for error in _validator().iter_errors(instance):
        for fault in _faults_of(error):
            found.setdefault((fault.path, fault.code), fault)
    return list(found.values())


@cache
def _validator() -> Validator:
    return Draft202012Validator(catalog_file_schema(), format_checker=Draft202012Validator.FORMAT_CHECKER)


def _faults_of(error: ValidationError) -> Iterator[Fault]:
    path = tuple(error.absolute_path)
    schema: Any = error.schema
    asked: Any = error.validator_value
    received: Any = error.instance
    if error.validator == "required":
        for member in asked:
            if member not in received:
                facts = {"member": member}
                yield Fault(path=(*path, member), code="catalog-missing-member", received=None, facts=facts)
    elif error.validator == "additionalProperties":
        known = schema["properties"]
        for member in received:
            if member not in known:
                facts = {"member": member, "accepted": nearest_first(known, to=member)}
                yield Fault(path=(*path, member), code="catalog-unknown-member", received=member, facts=facts)
    elif "x-fault" in schema:
        yield Fault(path=path, code=schema["x-fault"], received=received)
    else:
        code, facts_of = _BY_KEYWORD[str(error.validator)]
        yield Fault(path=path, code=code, received=received, facts=facts_of(schema, received))


def _type_facts(schema: Any, _received: object) -> Mapping[str, Fact]:
    return {"expected": schema["type"]}


def _word_facts(schema: Any, received: object) -> Mapping[str, Fact]:
    return {"accepted": nearest_first(schema.get("enum") or [schema["const"]], to=str(received))}


def _number_facts(schema: Any, _received: object) -> Mapping[str, Fact]:
    return {"least": schema.get("minimum", 0), "most": schema["maximum"]}


def _count_facts(schema: Any, received: Any) -> Mapping[str, Fact]:
    kind = "Properties" if isinstance(received, Mapping) else "Items"
    return {"least": schema.get(f"min{kind}", 0), "most": schema[f"max{kind}"], "count": len(received)}


def _no_facts(_schema: Any, _received: object) -> Mapping[str, Fact]:
    return {}


_BY_KEYWORD: Final[Mapping[str, tuple[str, Callable[[Any, Any], Mapping[str, Fact]]]]] = {
    "type": ("catalog-wrong-type", _type_facts),
    "enum": ("catalog-not-one-of", _word_facts),
    "const": ("catalog-not-one-of", _word_facts),
    "minimum": ("catalog-number-outside", _number_facts),
    "maximum": ("catalog-number-outside", _number_facts),
    "exclusiveMinimum": ("catalog-number-outside", _number_facts),
    "minItems": ("catalog-entry-count", _count_facts),
    "maxItems": ("catalog-entry-count", _count_facts),
    "minProperties": ("catalog-entry-count", _count_facts),
    "maxProperties": ("catalog-entry-count", _count_facts),
    "uniqueItems": ("catalog-repeated-entry", _no_facts),
    "anyOf": ("catalog-size-without-axis", _no_facts),
}


def nearest_first(known: Iterable[str], *, to: str) -> str:
    """The known words, those most like `to` first, as one text."""
    return ", ".join(sorted(known, key=lambda word: SequenceMatcher(a=word, b=to).ratio(), reverse=True))
