"""Schemas: the JSON Schemas (2020-12) of what exchange reads and writes, as components of an OpenAPI document."""

from collections.abc import Iterable
from typing import Any, Final

import msgspec
from pydantic import BaseModel

COMPONENTS: Final = "#/components/schemas/"


def form_schemas(forms: Iterable[type[BaseModel]]) -> dict[str, Any]:
    """The schema of each form, and of every part of it, by name."""
    schemas: dict[str, Any] = {}
    for form in forms:
        schema = form.model_json_schema(ref_template=COMPONENTS + "{model}")
        schemas |= {**schema.pop("$defs", {}), form.__name__: schema}
    return schemas


def document_schemas(documents: Iterable[type[msgspec.Struct]]) -> dict[str, Any]:
    """The schema of each document, and of every part of it, by name."""
    _, components = msgspec.json.schema_components(documents, ref_template=COMPONENTS + "{name}")
    return components
