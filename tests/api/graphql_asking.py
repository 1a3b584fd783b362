"""Asking in GraphQL: whole answers of any type, and what REST says in the words of GraphQL."""

from typing import Any, Final

import httpx
from graphql import (
    GraphQLEnumType,
    GraphQLInputObjectType,
    GraphQLInterfaceType,
    GraphQLList,
    GraphQLNamedType,
    GraphQLNonNull,
    GraphQLObjectType,
    get_named_type,
    is_leaf_type,
    is_required_argument,
)
from strawberry.schema.schema_converter import GraphQLCoreConverter

from hooflast.api.graphql.naming import camel
from hooflast.api.graphql.schema import core_schema

GRAPHQL: Final = "application/graphql-response+json"
SCHEMA: Final = core_schema()
DEEPEST: Final = 9


async def ask(
    client: httpx.AsyncClient,
    document: str | None = None,
    *,
    variables: dict[str, Any] | None = None,
    headers: dict[str, str] | None = None,
    **members: Any,
) -> httpx.Response:
    """The answer to a document, or to what other members of the request say."""
    body = {name: value for name, value in {"query": document, "variables": variables, **members}.items() if value}
    return await client.post("/graphql", json=body, headers={"Accept": GRAPHQL, **(headers or {})})


async def data_of(client: httpx.AsyncClient, document: str, **variables: Any) -> Any:
    """The data of an answer without errors."""
    answer = await ask(client, document, variables=variables)
    assert answer.status_code == 200, answer.text
    return answer.json()["data"]


def errors_of(answer: httpx.Response) -> list[dict[str, Any]]:
    """The errors of an answer."""
    errors: list[dict[str, Any]] = answer.json()["errors"]
    return errors


def codes_of(answer: httpx.Response) -> list[str]:
    """The codes of an answer's errors."""
    return [error["extensions"]["code"] for error in errors_of(answer)]


def whole(named: str | GraphQLNamedType, *, depth: int = 0) -> str:
    """A selection of everything that a type has and that takes no argument, as deep as answers of forms go."""
    found = SCHEMA.get_type(named) if isinstance(named, str) else named
    if not isinstance(found, GraphQLObjectType) or depth > DEEPEST:
        return "{ __typename }"
    parts = []
    for name, field in found.fields.items():
        if any(map(is_required_argument, field.args.values())) or field.args:
            continue
        inner = get_named_type(field.type)
        if is_leaf_type(inner):
            parts.append(name)
        elif isinstance(inner, GraphQLObjectType) and not inner.interfaces:
            parts.append(f"{name} {whole(inner, depth=depth + 1)}")
    return "{ " + " ".join(parts or ["__typename"]) + " }"


def in_graphql(rest: Any, gives: Any) -> Any:
    """A value of REST's as GraphQL gives it: members in its spelling, words by their names."""
    if isinstance(gives, GraphQLNonNull):
        return in_graphql(rest, gives.of_type)
    if rest is None:
        return None
    if isinstance(gives, GraphQLList):
        return [in_graphql(item, gives.of_type) for item in rest]
    if isinstance(gives, GraphQLEnumType):
        return next(name for name, value in gives.values.items() if _word(value.value) == rest)
    if isinstance(gives, GraphQLObjectType):
        return {
            name: in_graphql(rest.get(member), field.type)
            for name, field in gives.fields.items()
            if (member := _python_name(field)) in rest or _is_left_out(field, gives=gives)
            if not (gives.interfaces and name == "id")
        }
    return rest


def as_input(form: Any, takes: Any) -> Any:
    """A form of REST's as the input of GraphQL; what is no part of it stays as it is."""
    if isinstance(takes, GraphQLNonNull):
        return as_input(form, takes.of_type)
    if isinstance(takes, GraphQLList) and isinstance(form, list):
        return [as_input(item, takes.of_type) for item in form]
    if isinstance(takes, GraphQLEnumType) and isinstance(form, str):
        return next((name for name, value in takes.values.items() if _word(value.value) == form), form)
    if isinstance(takes, GraphQLInputObjectType) and isinstance(form, dict):
        known = {_python_name(field): (name, field.type) for name, field in takes.fields.items()}
        return {
            (known[member][0] if member in known else member): (
                as_input(value, known[member][1]) if member in known else value
            )
            for member, value in form.items()
        }
    return form


def as_listed(form: dict[str, Any]) -> dict[str, Any]:
    """A form of REST's that holds items by SKU as GraphQL takes it: a list of them, and what is null to be removed."""
    items = form.get("items", {})
    listed = {"items": [{"sku": sku, **item} for sku, item in items.items() if item is not None]}
    gone = [sku for sku, item in items.items() if item is None]
    return {**form, **listed, **({"remove": gone} if gone else {})}


def code_of(problem: dict[str, Any]) -> str:
    """The code of a problem."""
    return str(problem["type"]).rsplit("/", 1)[1]


def told_faults(errors: list[dict[str, Any]], *, spelled: Any = lambda pointer: pointer) -> list[Any]:
    """Faults as they can be compared, each with its place spelled in another way."""
    return sorted(
        (spelled(one["pointer"]), one["code"], one["detail"], _received(one), one.get("accepted")) for one in errors
    )


def _received(error: dict[str, Any]) -> str:
    """What came, but for objects and lists: of these GraphQL hands on what was left out, too."""
    received = error.get("received")
    return "" if isinstance(received, str) and received.startswith(("[", "{")) else repr(received)


def camel_pointer(pointer: str) -> str:
    """A place in a form of REST's as GraphQL spells it."""
    return "/".join(map(camel, pointer.split("/")))


def field_of_root(root: str, name: str) -> Any:
    """A field of the query or of the mutation."""
    found = SCHEMA.get_type(root)
    assert isinstance(found, GraphQLObjectType | GraphQLInterfaceType)
    return found.fields[name]


def _is_left_out(field: Any, *, gives: GraphQLObjectType) -> bool:
    """Whether REST leaves out a member where there is nothing to say."""
    return not gives.interfaces and field.extensions[GraphQLCoreConverter.DEFINITION_BACKREF].is_basic_field


def _python_name(field: Any) -> str:
    name: str = field.extensions[GraphQLCoreConverter.DEFINITION_BACKREF].python_name
    return name


def _word(value: Any) -> Any:
    return getattr(value, "value", value)
