"""Limits: what a document may not be, whoever sends it: too deep, too long, or with too many aliases."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from graphql import ASTValidationRule, NoSchemaIntrospectionCustomRule
from strawberry.extensions import max_aliases, query_depth_limiter

MOST_ERRORS: Final = 20
"""How many faults of one document are told."""

NO_INTROSPECTION: Final[Collection[type[ASTValidationRule]]] = (NoSchemaIntrospectionCustomRule,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How deep a document may go, how many aliases and tokens it may have, and what answering it may cost."""

    depth: int
    aliases: int
    tokens: int
    cost: int

    def rules(self) -> tuple[type[ASTValidationRule], ...]:
        """Depth and aliases as rules of validation, for documents whose fragments are known to lead nowhere twice."""
        return (
            query_depth_limiter.create_validator(self.depth, None),
            max_aliases.create_validator(self.aliases),
        )
