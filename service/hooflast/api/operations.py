"""Operations: one declaration per route, from which the route is made and the OpenAPI document is written."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import msgspec
from litestar.handlers import HTTPRouteHandler
from pydantic import BaseModel

from hooflast.access.key import Scope
from hooflast.api.admission import takes
from hooflast.api.negotiation import (
    CSV,
    FORM,
    HTML,
    JSON,
    LISTED,
    MERGE_PATCH,
    PLAIN,
    SVG,
    Guard,
    gives_html,
    gives_json,
    gives_plain,
    gives_results,
    gives_svg,
    in_turn,
    takes_one_of,
)
from hooflast.api.parameters import Parameter

OPERATION: Final = "operation"


@dataclass(frozen=True, slots=True, kw_only=True)
class PathParameter:
    """A part of the address that names one thing."""

    name: str
    meaning: str
    examples: tuple[str, ...] = ()
    schema: Mapping[str, object] = field(default_factory=lambda: {"type": "string", "minLength": 1})


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Where an answer leads: another operation, with a path parameter taken from the answer (a runtime expression)."""

    name: str
    to: str
    parameter: str
    expression: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """What one route does, takes and gives.

    `scope` is what a key must have for it; without one, reading takes `read`, erasing `erase` and all else `match`.
    What `is_public` takes no key. `problems` are the statuses it may refuse with besides the usual ones. `body_times`
    is how many times the body that the settings allow it reads. What `is_made_once` heeds `Idempotency-Key`; what
    `has_revision` says which in `ETag` and, where it changes something, heeds `If-Match`.
    """

    id: str
    method: Literal["GET", "POST", "PUT", "PATCH", "DELETE"]
    path: str
    tag: str
    summary: str
    description: str = ""
    path_parameters: tuple[PathParameter, ...] = ()
    query: tuple[Parameter[Any], ...] = ()
    takes: type[BaseModel] | Literal["html form", "horses"] | None = None
    body_times: int = 1
    gives: type[msgspec.Struct] | Literal["graphql", "html", "openapi", "svg", "job results", "metrics"] | None = None
    status: int = 200
    meaning: str = "The answer."
    problems: tuple[int, ...] = ()
    revalidates: bool = False
    speaks: bool = False
    links: tuple[Link, ...] = ()
    example: object = None
    takes_csv: bool = False
    is_made_once: bool = False
    has_revision: bool = False
    scope: Scope | None = None
    is_public: bool = False

    @property
    def takes_scope(self) -> Scope | None:
        """What a key must have for it; None for what takes no key."""
        if self.is_public:
            return None
        return self.scope or {"GET": Scope.READ, "DELETE": Scope.ERASE}.get(self.method, Scope.MATCH)

    @property
    def media_type(self) -> str:
        """What its answer is written in."""
        return {"html": HTML, "svg": SVG, "job results": LISTED[0], "metrics": PLAIN}.get(str(self.gives), JSON)

    @property
    def body_types(self) -> tuple[str, ...]:
        """What a body may be written in."""
        match self.takes:
            case "html form":
                return (FORM,)
            case "horses":
                return LISTED
            case _ if self.method == "PATCH":
                return (MERGE_PATCH,)
        return (JSON, CSV) if self.takes_csv else (JSON,)


def route(operation: Operation) -> Callable[[Callable[..., Any]], HTTPRouteHandler]:
    """Makes a route of the function below it."""
    guards: list[Guard] = [] if operation.takes_scope is None else [takes(operation.takes_scope)]
    gives = {HTML: gives_html, SVG: gives_svg, LISTED[0]: gives_results, PLAIN: gives_plain}
    guards.append(gives.get(operation.media_type, gives_json))
    if operation.takes:
        guards.append(takes_one_of(operation.body_types))
    return HTTPRouteHandler(
        operation.path.replace("}", ":str}"),
        http_method=operation.method,
        name=operation.id,
        guards=[in_turn(*guards)],
        media_type=operation.media_type,
        status_code=operation.status,
        include_in_schema=False,
        opt={OPERATION: operation},
    )
