"""OpenAPI: the document of the service (OpenAPI 3.1), written from what every route declares.

`python -m hooflast.api.openapi > openapi/hooflast.openapi.json` writes it anew.
"""

import sys
from collections.abc import Iterable
from http import HTTPStatus
from typing import Any, Final

import msgspec
from pydantic import BaseModel

from hooflast import __version__
from hooflast.api import sparse
from hooflast.api.graphql.request_form import GraphqlAnswerDocument
from hooflast.api.job_media import horses_body, results_content
from hooflast.api.negotiation import GRAPHQL, JSON, LISTED
from hooflast.api.openapi_fields import HEADERS, KEY, REFUSED_WITH, REQUEST_HEADERS, WEBHOOK_HEADERS
from hooflast.api.operations import Operation
from hooflast.api.pages.choices import form_schema
from hooflast.api.parameters import Parameter
from hooflast.api.problems import KINDS, MEDIA_TYPE, Problem
from hooflast.api.routes import operations
from hooflast.exchange import MatchForm, document_schemas, form_schemas
from hooflast.exchange.event_document import EVENT_DOCUMENTS
from hooflast.exchange.job_result_document import RESULT_DOCUMENTS

SCHEMAS: Final = "#/components/schemas/{name}"
DESCRIPTION: Final = (
    "Which hoof boot and which size suits each hoof, how sure that is, and why. Hooflast never diagnoses: with a "
    "painful or ailing foot, ask the veterinarian and the hoof-care professional first. Every refusal is a problem "
    "document (RFC 9457) that names all faults at once."
)
TAGS: Final = {
    "Matching": "One horse in, boots out.",
    "Match jobs": "Many horses at once, answered beside your other requests.",
    "Assortments": "What you sell, and where it stands in the catalog.",
    "Herds": "Which sizes to carry for many horses, and what sizes leave out.",
    "Pads": "What a pad does to the size of a boot.",
    "Trying on": "Which size to try next, and when to stop.",
    "Trim cycle": "What the weeks between two trims do to the size of a boot.",
    "Learning": "What outcomes of sold boots teach.",
    "Troubleshooting": "What may be behind a trouble with a boot.",
    "Catalog": "Makers, boot models, sizes and the catalog releases they belong to.",
    "Hooks": "Being told of what happens, by signed messages to an address of yours.",
    "GraphQL": "The same in one language of questions, each answered with what it asks for and no more.",
    "Pages": "The same for people, in a browser.",
    "Operation": "Whether the service lives, and what it serves with.",
    "Reference": "The service's own documentation.",
}
Json = dict[str, Any]


def openapi_document(*, server: str = "/") -> Json:
    """The document of the service that is reached at `server`, as plain values."""
    declared = operations()
    paths: Json = {}
    for operation in declared:
        paths.setdefault(operation.path, {})[operation.method.lower()] = _operation(operation)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Hooflast", "version": __version__, "description": DESCRIPTION},
        "servers": [{"url": server, "description": "This service"}],
        "tags": [{"name": name, "description": said} for name, said in TAGS.items()],
        "paths": paths,
        "webhooks": {kind: {"post": _webhook(kind, document)} for kind, document in EVENT_DOCUMENTS.items()},
        "components": {
            "schemas": _schemas(declared),
            "responses": {_refusal_name(status): _refusal(status) for status in _refusals(declared)},
            "parameters": {**REQUEST_HEADERS, **WEBHOOK_HEADERS},
            "headers": HEADERS,
            "securitySchemes": {"key": KEY},
        },
    }


def written(document: Json) -> bytes:
    """A document as it is committed and served: indented, one final line end."""
    return msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n"


def _operation(operation: Operation) -> Json:
    described: Json = {
        "operationId": operation.id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "parameters": [
            *(_path_parameter(operation, index) for index in range(len(operation.path_parameters))),
            *map(_query_parameter, operation.query),
            *({"$ref": f"#/components/parameters/{name}"} for name in _request_headers(operation)),
        ],
        "responses": {str(operation.status): _answer(operation), **_others(operation)},
    }
    described["security"] = [] if operation.takes_scope is None else [{"key": [operation.takes_scope]}, {}]
    if operation.description:
        described["description"] = operation.description
    if operation.takes:
        content = {media_type: _body(operation, media_type) for media_type in operation.body_types}
        described["requestBody"] = {"required": True, "content": content}
    return described


def _body(operation: Operation, media_type: str) -> Json:
    if operation.takes == "html form":
        return {"schema": form_schema()}
    if operation.takes == "horses":
        return horses_body(media_type)
    if media_type in LISTED or not isinstance(operation.takes, type):
        return {"schema": {"type": "string"}}
    return _form(operation.takes)


def _form(form: type[BaseModel]) -> Json:
    examples = {
        f"example_{number}": {"summary": f"Example {number}", "value": example}
        for number, example in enumerate(form.model_json_schema().get("examples", ()), start=1)
    }
    return {"schema": {"$ref": SCHEMAS.format(name=form.__name__)}, "examples": examples}


def _webhook(kind: str, document: type[msgspec.Struct]) -> Json:
    """What an address of yours is sent when something of a kind happens (Standard Webhooks)."""
    return {
        "operationId": f"told_{kind.replace('.', '_')}",
        "security": [],
        "tags": ["Hooks"],
        "summary": kind,
        "description": (document.__doc__ or "").strip(),
        "parameters": [{"$ref": f"#/components/parameters/{name}"} for name in WEBHOOK_HEADERS],
        "requestBody": {
            "required": True,
            "content": {JSON: {"schema": {"$ref": SCHEMAS.format(name=document.__name__)}}},
        },
        "responses": {
            "2XX": {"description": "It has arrived. Anything else, or nothing within 15 seconds, is tried again."},
            "410": {"description": "You want to be told nothing more: the hook is disabled."},
        },
    }


def _path_parameter(operation: Operation, index: int) -> Json:
    parameter = operation.path_parameters[index]
    return {
        "name": parameter.name,
        "in": "path",
        "required": True,
        "description": parameter.meaning,
        "schema": {**parameter.schema, **({"examples": list(parameter.examples)} if parameter.examples else {})},
    }


def _query_parameter(parameter: Parameter[Any]) -> Json:
    examples = {"examples": list(parameter.examples)} if parameter.examples else {}
    return {
        "name": parameter.name,
        "in": "query",
        "required": False,
        "description": parameter.meaning,
        "schema": {**parameter.schema, **examples},
    }


def _request_headers(operation: Operation) -> Iterable[str]:
    if operation.revalidates:
        yield "IfNoneMatch"
    if operation.has_revision and operation.method in {"PUT", "PATCH", "DELETE"}:
        yield "IfMatch"
    if operation.is_made_once:
        yield "IdempotencyKey"
    if operation.speaks:
        yield "AcceptLanguage"
    yield "RequestId"


def _answer(operation: Operation) -> Json:
    names = ["X-Request-ID"]
    if operation.takes_scope is not None:
        names += ["RateLimit-Policy", "RateLimit"]
    if operation.has_revision and operation.gives is not None:
        names.append("ETag")
    if operation.revalidates:
        names += ["ETag", "Cache-Control"]
    if operation.speaks:
        names.append("Content-Language")
    if operation.status == 201:
        names.append("Location")
    if any(parameter.name == "cursor" for parameter in operation.query):
        names.append("Link")
    answer: Json = {"description": operation.meaning, "headers": _header_references(names)}
    if operation.gives is not None:
        answer["content"] = _content(operation)
        if any(parameter.name == sparse.NAME for parameter in operation.query):
            answer["content"][sparse.MEDIA_TYPE] = {"schema": {"type": "object"}}
    if operation.links:
        answer["links"] = {
            link.name: {
                "operationId": link.to,
                "parameters": {link.parameter: link.expression},
                "description": link.meaning,
            }
            for link in operation.links
        }
    return answer


def _content(operation: Operation) -> Json:
    if operation.gives == "job results":
        return results_content()
    written = (GRAPHQL, JSON) if operation.gives == "graphql" else (operation.media_type,)
    return {media_type: {"schema": _given_schema(operation)} for media_type in written}


def _given_schema(operation: Operation) -> Json:
    match operation.gives:
        case "graphql":
            return {"$ref": SCHEMAS.format(name=GraphqlAnswerDocument.__name__)}
        case "html" | "svg" | "metrics":
            return {"type": "string"}
        case "openapi":
            inside = {"openapi": {"type": "string"}, "info": {"type": "object"}, "paths": {"type": "object"}}
            return {"type": "object", "properties": inside, "required": list(inside)}
        case given:
            return {"$ref": SCHEMAS.format(name=getattr(given, "__name__", ""))}


def _others(operation: Operation) -> Json:
    others: Json = {}
    if operation.revalidates:
        others["304"] = {
            "description": "What you hold under that ETag is still right.",
            "headers": _header_references(["X-Request-ID", "ETag", "Cache-Control"]),
        }
    others |= {
        str(status): {"$ref": f"#/components/responses/{_refusal_name(status)}"} for status in _refusals([operation])
    }
    if operation.gives == "graphql":
        others |= _of_graphql(operation)
    if operation.takes == "html form":
        others["422"] = {**_answer(operation), "description": "The form again, with every fault beside its field."}
    return others


def _of_graphql(operation: Operation) -> Json:
    """How an answer of GraphQL is told that holds errors."""
    answer = _answer(operation)
    content = {GRAPHQL: answer["content"][GRAPHQL]}
    refusal = _refusal(400)
    return {
        "294": {**answer, "content": content, "description": "Partial success: `errors` says which fields failed."},
        "400": {**refusal, "content": {**content, **refusal["content"]}},
    }


def _refusals(declared: Iterable[Operation]) -> list[int]:
    """The statuses that operations may refuse with."""
    statuses = {400, 406, 500}
    for operation in declared:
        statuses.update(operation.problems)
        if operation.takes_scope is not None:
            statuses.update((401, 403, 429, 503))
        if operation.has_revision and operation.method != "GET":
            statuses.add(412)
        if operation.is_made_once:
            statuses.update((400, 409, 422))
        if operation.takes:
            statuses.update((408, 413, 415, 422))
    return sorted(statuses)


def _refusal(status: int) -> Json:
    codes = sorted(code for code, its_status in KINDS.items() if its_status == status)
    return {
        "description": f"{HTTPStatus(status).phrase}: {', '.join(codes)}.",
        "headers": _header_references(["X-Request-ID", "Content-Language", *REFUSED_WITH.get(status, ())]),
        "content": {MEDIA_TYPE: {"schema": {"$ref": SCHEMAS.format(name=Problem.__name__)}}},
    }


def _refusal_name(status: int) -> str:
    return HTTPStatus(status).name.title().replace("_", "")


def forms_taken(declared: Iterable[Operation]) -> list[type[BaseModel]]:
    """The JSON forms that operations take, each once."""
    return list(dict.fromkeys(operation.takes for operation in declared if isinstance(operation.takes, type)))


def documents_given(declared: Iterable[Operation]) -> list[type[msgspec.Struct]]:
    """The documents that operations give, each once."""
    return list(dict.fromkeys(operation.gives for operation in declared if isinstance(operation.gives, type)))


def _schemas(declared: Iterable[Operation]) -> Json:
    declared = list(declared)
    told: dict[type[msgspec.Struct], None] = dict.fromkeys(EVENT_DOCUMENTS.values())
    if any(operation.gives == "graphql" for operation in declared):
        told[GraphqlAnswerDocument] = None
    given = document_schemas([*documents_given(declared), *told, *RESULT_DOCUMENTS, Problem])
    return dict(sorted({**given, **form_schemas([*forms_taken(declared), MatchForm])}.items()))


def _header_references(names: Iterable[str]) -> Json:
    return {name: {"$ref": f"#/components/headers/{name}"} for name in names}


if __name__ == "__main__":
    sys.stdout.buffer.write(written(openapi_document()))
