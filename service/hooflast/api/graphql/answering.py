"""Answering: one GraphQL request, from its form to what is sent."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from inspect import isawaitable
from pathlib import Path
from typing import Any, Final

from graphql import (
    DocumentNode,
    ExecutionResult,
    GraphQLError,
    OperationType,
    execute,
    get_operation_ast,
    validate,
)

from hooflast.access.key import KeyKind
from hooflast.api.caller import Caller
from hooflast.api.graphql.context import Context
from hooflast.api.graphql.cost import cost_rule
from hooflast.api.graphql.documents import Documents, Prepared, read_registered
from hooflast.api.graphql.errors import DocumentNotRegistered, RequestNotAnswered
from hooflast.api.graphql.inputs import too_deep
from hooflast.api.graphql.limits import MOST_ERRORS, NO_INTROSPECTION, Limits
from hooflast.api.graphql.request_form import GraphqlForm
from hooflast.api.graphql.schema import core_schema
from hooflast.api.graphql.telling import Teller
from hooflast.errors import Fact, Fault
from hooflast.settings import BrowserDocuments, BrowserIntrospection, Settings, SettingsRefused

ANSWERED: Final = 200
PARTLY: Final = 294
"""Partial Success (GraphQL over HTTP, September 2026)."""
REFUSED: Final = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class GraphqlAnswer:
    """What is sent, and the status of it."""

    body: dict[str, Any]
    status: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """A document that nothing is wrong with, the form it came with, and what answering it costs."""

    id: str
    document: DocumentNode
    form: GraphqlForm
    cost: int

    @property
    def is_mutation(self) -> bool:
        """Whether the operation that is meant changes something."""
        operation = get_operation_ast(self.document, self.form.operationName)
        return operation is not None and operation.operation is OperationType.MUTATION

    @property
    def asked(self) -> bytes:
        """What is asked, in one spelling, whether the document came itself or by its id. Raises InputRefused."""
        try:
            return json.dumps([self.id, self.form.operationName, self.form.variables or {}], sort_keys=True).encode()
        except RecursionError:
            raise too_deep() from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Graphql:
    """What one process answers GraphQL requests with."""

    documents: Documents
    limits: Limits
    browser_documents: BrowserDocuments
    browser_introspection: BrowserIntrospection

    def prepare(self, form: GraphqlForm, *, caller: Caller, teller: Teller) -> Ready | GraphqlAnswer:
        """Find and measure a document; where something is wrong with it, the answer that tells what."""
        try:
            prepared = self.documents.find(text=form.query, document_id=form.documentId)
            self._require_allowed(prepared, caller=caller)
        except RequestNotAnswered as error:
            return GraphqlAnswer(body={"errors": teller.of_request(error)}, status=REFUSED)
        costs: list[int] = []
        errors = self._faults(prepared, form=form, caller=caller, costs=costs)
        if prepared.document is None or errors:
            return GraphqlAnswer(body={"errors": teller.of_document(errors)}, status=REFUSED)
        return Ready(id=prepared.id, document=prepared.document, form=form, cost=sum(costs))

    async def answer(self, ready: Ready, *, context: Context, teller: Teller) -> GraphqlAnswer:
        """Answer a document; whatever is wrong with parts of it is told in the answer."""
        extensions = {"cost": {"asked": ready.cost, "most": self.limits.cost}}
        result = execute(
            core_schema(),
            ready.document,
            context_value=context,
            variable_values=ready.form.variables,
            operation_name=ready.form.operationName,
        )
        return _answered(await result if isawaitable(result) else result, teller=teller, extensions=extensions)

    def _require_allowed(self, prepared: Prepared, *, caller: Caller) -> None:
        is_held_to_them = _is_browser(caller) and self.browser_documents is BrowserDocuments.REGISTERED
        if is_held_to_them and not self.documents.is_registered(prepared.id):
            raise DocumentNotRegistered

    def _faults(
        self, prepared: Prepared, *, form: GraphqlForm, caller: Caller, costs: list[int]
    ) -> tuple[GraphQLError, ...]:
        if prepared.document is None or prepared.errors:
            return prepared.errors
        is_refused = _is_browser(caller) and self.browser_introspection is BrowserIntrospection.REFUSE
        costing = cost_rule(
            operation=form.operationName,
            variables=form.variables or {},
            budget=self.limits.cost,
            tell=costs.append,
        )
        rules = [costing, *(NO_INTROSPECTION if is_refused else ())]
        return tuple(validate(core_schema(), prepared.document, rules, max_errors=MOST_ERRORS))


def graphql_of(settings: Settings) -> Graphql:
    """What the settings ask for. Raises SettingsRefused for a file of documents that cannot be read."""
    limits = Limits(
        depth=settings.graphql_depth,
        aliases=settings.graphql_aliases,
        tokens=settings.graphql_tokens,
        cost=settings.graphql_cost,
    )
    return Graphql(
        documents=Documents(limits=limits, registered=_registered(settings.graphql_documents)),
        limits=limits,
        browser_documents=settings.graphql_browser_documents,
        browser_introspection=settings.graphql_browser_introspection,
    )


def _registered(file: str) -> Mapping[str, str]:
    try:
        return read_registered(Path(file).read_bytes()) if file else {}
    except (OSError, ValueError):
        accepted: dict[str, Fact] = {"accepted": "a JSON file of documents"}
        refused = Fault(path=("HOOFLAST_GRAPHQL_DOCUMENTS",), code="setting-refused", received=file, facts=accepted)
        raise SettingsRefused(faults=(refused,)) from None


def _answered(result: ExecutionResult, *, teller: Teller, extensions: dict[str, Any]) -> GraphqlAnswer:
    if result.data is None:
        return GraphqlAnswer(body={"errors": teller.of_variables(result.errors or ())}, status=REFUSED)
    if result.errors:
        errors = teller.of_fields(result.errors)
        return GraphqlAnswer(body={"data": result.data, "errors": errors, "extensions": extensions}, status=PARTLY)
    return GraphqlAnswer(body={"data": result.data, "extensions": extensions}, status=ANSWERED)


def _is_browser(caller: Caller) -> bool:
    return caller.key is not None and caller.key.kind is KeyKind.BROWSER
