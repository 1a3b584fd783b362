"""Telling: errors as GraphQL tells them, by the same table as problems, with the same codes and sentences."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import structlog
from graphql import GraphQLError
from msgspec import UNSET, to_builtins

from hooflast.api.graphql.errors import DocumentRefused, VariablesRefused
from hooflast.api.graphql.naming import camel_path
from hooflast.api.problems import Diagnosis, Place, diagnose, problem_of
from hooflast.errors import HooflastError
from hooflast.texts import Texts

log = structlog.stdlib.get_logger("hooflast.api")


class Teller:
    """Tells the errors of one request."""

    def __init__(self, *, texts: Texts, base: str, request_id: str) -> None:
        self._texts = texts
        self._base = base
        self._request_id = request_id

    def of_request(self, error: HooflastError) -> list[dict[str, Any]]:
        """Why nothing was answered, for a reason of ours."""
        return [self._told(diagnose(error))]

    def of_document(self, errors: Iterable[GraphQLError]) -> list[dict[str, Any]]:
        """Why nothing was answered, for the document's sake."""
        return [self._told_of(error, otherwise=DocumentRefused(reason=error.message)) for error in errors]

    def of_variables(self, errors: Iterable[GraphQLError]) -> list[dict[str, Any]]:
        """Why nothing was answered, for the variables' sake."""
        return [self._told_of(error, otherwise=VariablesRefused(reason=error.message)) for error in errors]

    def of_fields(self, errors: Iterable[GraphQLError]) -> list[dict[str, Any]]:
        """Why some fields are null."""
        return [self._told_of(error, otherwise=error) for error in errors]

    def _told_of(self, error: GraphQLError, *, otherwise: Exception) -> dict[str, Any]:
        cause = error.original_error
        while isinstance(cause, GraphQLError):
            cause = cause.original_error
        diagnosis = diagnose(cause or otherwise)
        if diagnosis.is_unexpected:
            log.error("unexpected error", exc_info=cause or error)
        told = self._told(diagnosis)
        if error.locations:
            told["locations"] = [{"line": place.line, "column": place.column} for place in error.locations]
        if error.path:
            told["path"] = error.path
        return told

    def _told(self, diagnosis: Diagnosis) -> dict[str, Any]:
        faults = tuple(replace(fault, path=camel_path(fault.path)) for fault in diagnosis.faults)
        place = Place.BODY if diagnosis.place is Place.QUERY else diagnosis.place
        problem = problem_of(
            replace(diagnosis, faults=faults, place=place),
            texts=self._texts,
            base=self._base,
            request_id=self._request_id,
        )
        extensions: dict[str, Any] = {"code": diagnosis.code, "status": problem.status, "type": problem.type}
        if problem.errors is not UNSET:
            extensions["errors"] = to_builtins(problem.errors)
        return {"message": problem.detail or problem.title, "extensions": extensions}
