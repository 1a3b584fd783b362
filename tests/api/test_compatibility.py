"""Compatibility: what was released is still answered, and the check finds what would break it."""

import json
from copy import deepcopy
from typing import Any

import pytest
from graphql import build_schema
from graphql.utilities import find_breaking_changes
from tests.api.compatibility import DOCUMENTS, OPENAPI, RELEASED, Comparison

OLD: dict[str, Any] = json.loads((RELEASED / "hooflast.openapi.json").read_text("utf-8"))
MATCH = OLD["paths"]["/v1/matches"]["post"]


def breaks(new: dict[str, Any]) -> list[str]:
    return list(Comparison(old=OLD, new=new).breaks())


def test_nothing_breaks_a_client_of_the_released_interface() -> None:
    new = json.loads((OPENAPI / "hooflast.openapi.json").read_text("utf-8"))
    assert breaks(new) == [], "if it must, say so in the changelog, and run python -m tests.api.compatibility"


def test_nothing_breaks_a_client_of_the_released_graphql() -> None:
    old, new = (build_schema((folder / "hooflast.graphql").read_text("utf-8")) for folder in (RELEASED, OPENAPI))
    assert [change.description for change in find_breaking_changes(old, new)] == []


def test_both_documents_are_there() -> None:
    assert {file.name for file in RELEASED.iterdir()} == set(DOCUMENTS)


def schema_of(document: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = document["components"]["schemas"][name]
    return found


def without_a_path(new: dict[str, Any]) -> None:
    del new["paths"]["/v1/boots"]


def without_a_member(new: dict[str, Any]) -> None:
    del schema_of(new, "SizeFitDocument")["properties"]["fit_chance"]


def with_a_member_left_out(new: dict[str, Any]) -> None:
    schema_of(new, "SizeFitDocument")["required"].remove("size")


def with_a_field_required(new: dict[str, Any]) -> None:
    schema_of(new, "MatchForm")["required"] = [*schema_of(new, "MatchForm").get("required", ()), "uses"]


def without_a_field(new: dict[str, Any]) -> None:
    del schema_of(new, "MatchForm")["properties"]["closures"]


def with_fewer_choices(new: dict[str, Any]) -> None:
    schema_of(new, "Limb")["enum"].remove("RH")


def with_a_tighter_bound(new: dict[str, Any]) -> None:
    schema_of(new, "MatchForm")["properties"]["hooves"]["maxItems"] = 2


def with_a_parameter_required(new: dict[str, Any]) -> None:
    for parameter in new["paths"]["/v1/boots"]["get"]["parameters"]:
        parameter["required"] = True


def without_a_parameter(new: dict[str, Any]) -> None:
    parameters = new["paths"]["/v1/boots"]["get"]["parameters"]
    parameters.remove(next(one for one in parameters if one.get("name") == "maker"))


def with_another_status(new: dict[str, Any]) -> None:
    responses = new["paths"]["/v1/matches"]["post"]["responses"]
    responses["200"] = responses.pop("201")


def with_another_type(new: dict[str, Any]) -> None:
    schema_of(new, "SizeFitDocument")["properties"]["size"] = {"type": "integer"}


@pytest.mark.parametrize(
    "change",
    [
        without_a_path, without_a_member, with_a_member_left_out, with_a_field_required, without_a_field,
        with_fewer_choices, with_a_tighter_bound, with_a_parameter_required, without_a_parameter, with_another_status,
        with_another_type,
    ],
    ids=lambda change: change.__name__,
)  # fmt: skip
def test_what_would_break_a_client_is_found(change: Any) -> None:
    new = deepcopy(OLD)
    change(new)
    assert breaks(new)


def test_what_is_added_breaks_nobody() -> None:
    new = deepcopy(OLD)
    new["paths"]["/v1/new"] = {"get": MATCH}
    schema_of(new, "SizeFitDocument")["properties"]["another"] = {"type": "string"}
    schema_of(new, "MatchForm")["properties"]["another"] = {"type": "string"}
    new["paths"]["/v1/boots"]["get"]["parameters"].append({"name": "a", "in": "query", "schema": {"type": "string"}})
    assert breaks(new) == []
