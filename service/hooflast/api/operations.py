"""Operations: one declaration per route, from which the route is made and the OpenAPI document is written."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import msgspec
from litestar.handlers import HTTPRouteHandler
from pydantic import BaseModel

from hooflast.access.key import Scope
from hooflast.api.admission import takes
from hooflast.api.negotiation import FORM, HTML, JSON, SVG, gives_html, gives_json, gives_svg, takes_form, takes_json
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
    is how many times the body that the settings allow it reads.
    """

    id: str
    method: Literal["GET", "POST", "DELETE"]
    path: str
    tag: str
    summary: str
    description: str = ""
    path_parameters: tuple[PathParameter, ...] = ()
    query: tuple[Parameter[Any], ...] = ()
    takes: type[BaseModel] | Literal["html form"] | None = None
    body_times: int = 1
    gives: type[msgspec.Struct] | Literal["html", "openapi", "svg"] | None = None
    status: int = 200
    meaning: str = "The answer."
    problems: tuple[int, ...] = ()
    revalidates: bool = False
    speaks: bool = False
    links: tuple[Link, ...] = ()
    example: object = None
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
        return {"html": HTML, "svg": SVG}.get(str(self.gives), JSON)

    @property
    def body_type(self) -> str:
        """What a body is to be written in."""
        return FORM if self.takes == "html form" else JSON


def route(operation: Operation) -> Callable[[Callable[..., Any]], HTTPRouteHandler]:
    """Makes a route of the function below it."""
    guards: list[Any] = [] if operation.takes_scope is None else [takes(operation.takes_scope)]
    guards.append({HTML: gives_html, SVG: gives_svg}.get(operation.media_type, gives_json))
    if operation.takes:
        guards.append(takes_form if operation.takes == "html form" else takes_json)
    return HTTPRouteHandler(
        operation.path.replace("}", ":str}"),
        http_method=operation.method,
        name=operation.id,
        guards=guards,
        media_type=operation.media_type,
        status_code=operation.status,
        include_in_schema=False,
        opt={OPERATION: operation},
    )
