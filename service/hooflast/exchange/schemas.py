"""Schemas: the JSON Schemas (2020-12) of what exchange reads and writes, as components of an OpenAPI document."""

from typing import Any, Final

import msgspec

from hooflast.exchange.match_document import MatchAnswerDocument
from hooflast.exchange.match_form import MatchForm

COMPONENTS: Final = "#/components/schemas/"


def request_schemas() -> dict[str, Any]:
    """The schema of the request of a match, called `MatchForm`, and of every part of it, by name."""
    form = MatchForm.model_json_schema(ref_template=COMPONENTS + "{model}")
    parts: dict[str, Any] = form.pop("$defs", {})
    return {**parts, MatchForm.__name__: form}


def answer_schemas() -> dict[str, Any]:
    """The schema of the answer to a match, called `MatchAnswerDocument`, and of every part of it, by name."""
    _, components = msgspec.json.schema_components([MatchAnswerDocument], ref_template=COMPONENTS + "{name}")
    return components
