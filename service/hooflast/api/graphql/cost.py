"""Cost: what answering a document would take, before anything is answered.

A field costs its weight (1, or what it was declared with) and, as often as it may hold items, what is asked of each:
a page as many as its `first`, `nodes` as many as its `ids`. Where the items of a page are large, each has a weight of
its own. Lists within what was worked out count as five at most: they are bounded by the form, and working out has its
weight.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from graphql import (
    ASTValidationRule,
    FieldNode,
    FragmentDefinitionNode,
    FragmentSpreadNode,
    GraphQLError,
    GraphQLInterfaceType,
    GraphQLList,
    GraphQLNamedType,
    GraphQLObjectType,
    GraphQLSchema,
    InlineFragmentNode,
    OperationDefinitionNode,
    SelectionSetNode,
    ValidationContext,
    ValueNode,
    VariableNode,
    get_named_type,
    get_nullable_type,
    value_from_ast_untyped,
)
from strawberry.schema.schema_converter import GraphQLCoreConverter

from hooflast.api.graphql.bounds import BOUND, PAGE
from hooflast.api.graphql.connections import MOST, USUAL
from hooflast.api.graphql.errors import DocumentTooCostly
from hooflast.api.graphql.fields import EACH, WEIGHT

_PAGED: Final = "first"
_NAMED: Final = "ids"
FEW: Final = 5


def cost_rule(
    *, operation: str | None, variables: Mapping[str, Any], budget: int, tell: Callable[[int], None]
) -> type[ASTValidationRule]:
    """A rule of validation that refuses what costs more than `budget`; `tell` is told what it would cost."""

    class CostRule(ASTValidationRule):
        def enter_operation_definition(self, node: OperationDefinitionNode, *_: Any) -> None:
            if operation is not None and (node.name is None or node.name.value != operation):
                return
            context: ValidationContext = self.context  # type: ignore[assignment]
            cost = cost_of(node, schema=context.schema, variables=variables, fragments=_fragments(context))
            tell(cost)
            if cost > budget:
                costly = DocumentTooCostly(cost=cost, budget=budget)
                self.report_error(GraphQLError(str(costly), node, original_error=costly))

    return CostRule


def cost_of(
    node: OperationDefinitionNode,
    *,
    schema: GraphQLSchema,
    variables: Mapping[str, Any],
    fragments: Mapping[str, FragmentDefinitionNode],
) -> int:
    """What an operation would cost; its document is valid."""
    defaults = {
        definition.variable.name.value: value_from_ast_untyped(definition.default_value)
        for definition in node.variable_definitions or ()
        if definition.default_value is not None
    }
    reckoning = _Reckoning(schema=schema, variables={**defaults, **variables}, fragments=fragments)
    root = schema.get_root_type(node.operation)
    return 0 if root is None else reckoning.of_selections(node.selection_set, root)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reckoning:
    schema: GraphQLSchema
    variables: Mapping[str, Any]
    fragments: Mapping[str, FragmentDefinitionNode]
    known: dict[tuple[str, str], int] = field(default_factory=dict)

    def of_selections(self, selections: SelectionSetNode, parent: GraphQLNamedType) -> int:
        return sum(self._of_selection(selection, parent) for selection in selections.selections)

    def _of_selection(self, selection: Any, parent: GraphQLNamedType) -> int:
        if isinstance(selection, FieldNode):
            return self._of_field(selection, parent)
        if isinstance(selection, InlineFragmentNode):
            return self.of_selections(selection.selection_set, self._narrowed(selection.type_condition, parent))
        return self._of_fragment(selection, parent)

    def _of_fragment(self, spread: FragmentSpreadNode, parent: GraphQLNamedType) -> int:
        """A fragment costs the same wherever it stands; worked out once, however often it is spread."""
        name = spread.name.value
        if (name, parent.name) not in self.known:
            fragment = self.fragments[name]
            inside = self._narrowed(fragment.type_condition, parent)
            self.known[name, parent.name] = self.of_selections(fragment.selection_set, inside)
        return self.known[name, parent.name]

    def _of_field(self, node: FieldNode, parent: GraphQLNamedType) -> int:
        name = node.name.value
        if name.startswith("__") or not isinstance(parent, GraphQLObjectType | GraphQLInterfaceType):
            return 1
        found = parent.fields[name]
        declared = found.extensions.get(GraphQLCoreConverter.DEFINITION_BACKREF)
        metadata: Mapping[str, Any] = getattr(declared, "metadata", {})
        weight: int = metadata.get(WEIGHT, 1)
        if node.selection_set is None:
            return weight
        each: int = metadata.get(EACH, 0)
        inside = each + self.of_selections(node.selection_set, get_named_type(found.type))
        return weight + inside * self._times(node, metadata=metadata, arguments=found.args, gives=found.type)

    def _times(self, node: FieldNode, *, metadata: Mapping[str, Any], arguments: Any, gives: Any) -> int:
        given = {argument.name.value: argument.value for argument in node.arguments or ()}
        if _PAGED in arguments:
            first = self._value(given[_PAGED]) if _PAGED in given else USUAL
            return min(max(first, 1), MOST) if isinstance(first, int) else MOST
        if _NAMED in arguments:
            ids = self._value(given[_NAMED]) if _NAMED in given else []
            return len(ids) if isinstance(ids, list) else 1
        if not isinstance(get_nullable_type(gives), GraphQLList) or PAGE in metadata:
            return 1
        return min(int(metadata.get(BOUND, FEW)), FEW)

    def _value(self, node: ValueNode) -> Any:
        if isinstance(node, VariableNode):
            return self.variables.get(node.name.value, USUAL)
        return value_from_ast_untyped(node, dict(self.variables))

    def _narrowed(self, condition: Any, parent: GraphQLNamedType) -> GraphQLNamedType:
        named = None if condition is None else self.schema.get_type(condition.name.value)
        return named or parent


def _fragments(context: ValidationContext) -> dict[str, FragmentDefinitionNode]:
    return {
        definition.name.value: definition
        for definition in context.document.definitions
        if isinstance(definition, FragmentDefinitionNode)
    }
