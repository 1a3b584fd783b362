"""Reference: the OpenAPI document as one page that is read without a script."""

from collections.abc import Iterator, Mapping
from html import escape
from typing import Any

import msgspec

from hooflast.api.html import page

Json = Mapping[str, Any]


def reference_page(document: Json) -> bytes:
    """The page of an OpenAPI document: every operation with its parameters and answers, then every schema."""
    operations = [
        (method.upper(), path, operation)
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    ]
    inside = "".join(
        (
            _contents(operations),
            *(_operation(*each, document=document) for each in operations),
            "<h2>Schemas</h2>",
            *(_schema(name, schema) for name, schema in document["components"]["schemas"].items()),
        )
    )
    return page("Reference", paragraphs=(document["info"]["description"],), inside=inside)


def _contents(operations: list[tuple[str, str, Json]]) -> str:
    items = "".join(
        f'<li><a href="#{escape(operation["operationId"])}">{escape(operation["summary"])}</a></li>'
        for _, _, operation in operations
    )
    beside = '<a href="./">Start page</a> · <a href="openapi.json">openapi.json</a>'
    return f'<nav aria-label="Contents"><ul>{items}</ul><p>{beside}</p></nav>'


def _operation(*written: Any, document: Json) -> str:
    method, path, operation = written
    parts = [
        f'<section id="{escape(operation["operationId"])}"><h2>{escape(operation["summary"])}</h2>',
        f"<p><code>{method} {escape(path)}</code></p>",
        f"<p>{escape(operation.get('description', ''))}</p>" if operation.get("description") else "",
        _table("Parameters", [_parameter_row(_resolved(one, document)) for one in operation.get("parameters", ())]),
        *(_body(media_type, content) for media_type, content in _contents_of(operation.get("requestBody"))),
        _table("Answers", [_answer_row(*one, document=document) for one in operation["responses"].items()]),
        "</section>",
    ]
    return "".join(parts)


def _parameter_row(parameter: Json) -> tuple[str, str, str]:
    needed = ", required" if parameter.get("required") else ""
    where = f"{parameter['in']}{needed}"
    said = f"{escape(parameter.get('description', ''))} {_type(parameter['schema'])}"
    return f"<code>{escape(parameter['name'])}</code>", where, said


def _answer_row(status: str, response: Json, *, document: Json) -> tuple[str, str, str]:
    response = _resolved(response, document)
    contents = ", ".join(
        f"<code>{escape(media_type)}</code> {_type(content.get('schema', {}))}"
        for media_type, content in _contents_of(response)
    )
    return status, escape(response["description"]), contents


def _body(media_type: str, content: Json) -> str:
    examples = "".join(
        f"<p>{escape(example.get('summary', name))}</p><pre>{_indented(example['value'])}</pre>"
        for name, example in content.get("examples", {}).items()
    )
    return f"<h3>Body</h3><p><code>{escape(media_type)}</code> {_type(content['schema'])}</p>{examples}"


def _schema(name: str, schema: Json) -> str:
    required = schema.get("required", ())
    rows = [
        (
            f"<code>{escape(member)}</code>",
            "required" if member in required else "",
            f"{escape(inner.get('description', ''))} {_type(inner)}",
        )
        for member, inner in schema.get("properties", {}).items()
    ]
    values = "" if rows else f"<p>{_type(schema)}</p>"
    said = escape(schema.get("description", ""))
    table = _table("Members", rows)
    return f'<section id="schema-{escape(name)}"><h3>{escape(name)}</h3><p>{said}</p>{values}{table}</section>'


def _type(schema: Json) -> str:
    """A schema in a few words."""
    if "$ref" in schema:
        name = escape(schema["$ref"].rpartition("/")[2])
        return f'<a href="#schema-{name}">{name}</a>'
    if "enum" in schema:
        return " | ".join(f"<code>{escape(str(value))}</code>" for value in schema["enum"])
    if "const" in schema:
        return f"<code>{escape(str(schema['const']))}</code>"
    for word in ("anyOf", "oneOf", "allOf"):
        if word in schema:
            return " or ".join(dict.fromkeys(_type(one) for one in schema[word]))
    if schema.get("type") == "array":
        return f"list of {_type(schema.get('items', {}))}"
    return " ".join((escape(str(schema.get("type", "anything"))), *_limits(schema)))


def _limits(schema: Json) -> Iterator[str]:
    for word in ("format", "minimum", "maximum", "minLength", "maxLength", "default"):
        if word in schema:
            yield f"<small>{word} {escape(str(schema[word]))}</small>"


def _table(title: str, rows: list[tuple[str, str, str]]) -> str:
    if not rows:
        return ""
    lines = "".join(f'<tr><th scope="row">{a}</th><td>{b}</td><td>{c}</td></tr>' for a, b, c in rows)
    return f"<h3>{title}</h3><table><tbody>{lines}</tbody></table>"


def _contents_of(holder: Json | None) -> Iterator[tuple[str, Json]]:
    yield from (holder or {}).get("content", {}).items()


def _resolved(value: Json, document: Json) -> Json:
    if "$ref" not in value:
        return value
    found: Any = document
    for step in value["$ref"].removeprefix("#/").split("/"):
        found = found[step]
    resolved: Json = found
    return resolved


def _indented(value: object) -> str:
    return escape(msgspec.json.format(msgspec.json.encode(value), indent=2).decode())
