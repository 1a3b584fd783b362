"""Plugin settings: what a plugin is told, read by its own model, and never told again where it is secret.

A secret is what a setting of one of pydantic's secret types (such as SecretStr) was given.
"""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from typing import Any, Final, get_args
from urllib.parse import quote

from pydantic_core import ErrorDetails, ValidationError

HIDDEN: Final = "***"
SHORTEST_SECRET: Final = 4
"""Anything shorter stands in too many words to be hidden in them [C]."""


class SettingsUnsuitable(Exception):
    """What a plugin was given does not suit the model of its settings; says which settings, never what they hold."""


def read_settings(model: Any, given: Mapping[str, Any]) -> Any:
    """The settings as an instance of their model. Raises SettingsUnsuitable."""
    try:
        return model.model_validate(given)
    except ValidationError as error:
        raise SettingsUnsuitable("; ".join(without_input(error, known=model.model_fields))) from None


def without_input(error: ValidationError, *, known: Iterable[str] = ()) -> Iterator[str]:
    """Each thing that pydantic found wrong, by the field's name, without what was put in.

    `known` are the names that an unknown one may be a slip of.
    """
    for found in error.errors(include_input=False, include_url=False, include_context=False):
        yield _told(found, known=known)


def secrets_of(plugin: object, given: Mapping[str, Any] | None) -> frozenset[str]:
    """The texts in what a plugin was given that its settings call secret."""
    model = getattr(getattr(plugin, "about", None), "settings", None)
    return frozenset(text for text in _secrets(model, given) if len(text) >= SHORTEST_SECRET)


def hidden(text: str, *, secrets: Iterable[str]) -> str:
    """The text with every secret in it blotted out, as it is or as it would stand in code or in an address."""
    forms = {form for one in secrets for form in (one, repr(one)[1:-1], quote(one), quote(one, safe=""))}
    for form in sorted(forms, key=len, reverse=True):
        text = text.replace(form, HIDDEN)
    return text


def _told(found: ErrorDetails, *, known: Iterable[str]) -> str:
    name = ".".join(str(step) for step in found["loc"])
    if found["type"] == "missing":
        return f"{name} is missing"
    if found["type"] == "extra_forbidden":
        closest = get_close_matches(name, list(known), n=1)
        return f"{name} is none of its settings" + (f", the closest is {closest[0]}" if closest else "")
    said = found["msg"].removeprefix("Value error, ")
    return f"{name}: {said}" if name else said


def _secrets(model: Any, given: object) -> Iterator[str]:
    fields = getattr(model, "model_fields", None)
    if not isinstance(fields, Mapping) or not isinstance(given, Mapping):
        return
    for name, field in fields.items():
        for key in {name, field.alias, field.validation_alias} & given.keys():
            yield from _secrets_at(field.annotation, given[key])


def _secrets_at(annotation: object, value: object) -> Iterator[str]:
    parts = list(_parts(annotation))
    if any(hasattr(part, "get_secret_value") for part in parts):
        yield from _texts(value)
    for part in parts:
        for one in _each(value):
            yield from _secrets(part, one)


def _parts(annotation: object) -> Iterator[object]:
    """A type and every type that it is made of."""
    yield annotation
    for part in get_args(annotation):
        yield from _parts(part)


def _each(value: object) -> Iterator[object]:
    """A value, and those that it holds."""
    yield value
    if isinstance(value, Mapping):
        yield from value.values()
    elif isinstance(value, list):
        yield from value


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, Mapping | list):
        for one in value.values() if isinstance(value, Mapping) else value:
            yield from _texts(one)
    else:
        yield str(value)
