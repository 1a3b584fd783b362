"""Fields: what a field of the root takes of a key, and what it costs, declared where it is made."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import strawberry
from strawberry.extensions import FieldExtension

from hooflast.access.key import Scope
from hooflast.api.graphql.bounds import BOUND
from hooflast.api.graphql.context import Info

WEIGHT: Final = "weight"
EACH: Final = "each"
SCOPE: Final = "scope"
"""Under these names a field's metadata holds what it costs besides its parts, what each item of its page does, and the
scope that it takes."""

LIGHT: Final = 1
LOOK_UP: Final = 5
KEPT_ANSWER: Final = 20
COMPARISON: Final = 200
WHOLE_ASSORTMENT: Final = 500
ONE_HORSE: Final = 1_000
MANY_HORSES: Final = 5_000
"""Weights [C]: what stands in memory, what the store is asked for, an answer of a page that it kept, two catalog
releases compared, an assortment mapped, what is worked out for one horse, and for many; as much as that takes an
assortment to be written: seconds, during which no other is."""


@dataclass(frozen=True)
class Needs(FieldExtension):
    """Lets nobody through whose key lacks a scope."""

    scope: Scope

    async def resolve_async(  # noqa: PLR0917 (strawberry's signature)
        self, next_: Any, source: Any, info: Info, **given: Any
    ) -> Any:
        """What the field gives. Raises ScopeMissing."""
        info.context.require(self.scope)
        found = await next_(source, info, **given)
        info.context.making.has_made = True
        return found


def declared(
    resolver: Callable[..., Any],
    *,
    gives: Any,
    description: str,
    scope: Scope = Scope.READ,
    weight: int = LIGHT,
    most: int | None = None,
) -> Any:
    """A field of the root. Where it fails, it alone is null."""
    return strawberry.field(
        resolver=resolver,
        graphql_type=gives | None,
        description=description,
        metadata={SCOPE: scope, WEIGHT: weight, **({BOUND: most} if most else {})},
        extensions=[Needs(scope)],
    )
