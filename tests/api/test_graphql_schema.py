"""Schema: Schemathesis tries GraphQL with all its checks, in every phase that there is for it, on both databases."""

import asyncio
from collections import Counter
from typing import Any, Final

import pytest
import schemathesis
from hypothesis import strategies as st
from schemathesis.config import SchemathesisConfig
from schemathesis.core.result import Ok
from schemathesis.engine import Status, events, from_schema
from schemathesis.engine.run import PhaseName
from schemathesis.graphql import nodes
from tests.api.samples import LIBRARY, NOW, put_out
from tests.api.test_schema import CONFIG, listening

PHASES: Final = (PhaseName.FUZZING, PhaseName.STATEFUL_TESTING)
"""The phases that there are for GraphQL."""

CHECKS: Final = frozenset({"not_a_server_error"})
ALLOWED: Final = frozenset(
    {
        "input-refused",
        "query-refused",
        "not-found",
        "too-many-hooks",
        "too-many-jobs",
        "job-over",
        "too-many-assortments",
        "assortment-changed",
        "document-too-costly",
        "variables-refused",
    }
)
"""What a document in the right form may still be refused for: forms have rules that a schema cannot say."""

_LENGTHS: Final = st.integers(60, 200).map(nodes.Int) | st.sampled_from(["12.4 cm", "5 in", "much"]).map(nodes.String)
SCALARS: Final = {
    "Length": _LENGTHS,
    "Lengths": _LENGTHS | st.lists(_LENGTHS, min_size=1, max_size=3).map(nodes.List),
    "Price": st.integers(0, 200).map(nodes.Int) | st.just(nodes.String("89.50")),
    "Date": st.just(nodes.String(NOW.date().isoformat())),
    "DateTime": st.just(nodes.String("2026-01-01T00:00:00Z")),
    "Value": st.just(nodes.Int(1)),
}


@pytest.mark.full
def test_graphql_does_what_its_schema_says(database_url: str) -> None:
    scenarios: Counter[PhaseName] = Counter()
    checked: Counter[str] = Counter()
    answered: Counter[str] = Counter()
    failures: dict[str, str] = {}
    for name, values in SCALARS.items():
        schemathesis.graphql.scalar(name, values)
    asyncio.run(put_out(LIBRARY, database_url))
    with listening(database_url) as address:
        schema = schemathesis.graphql.from_url(f"{address}/graphql", config=SchemathesisConfig.from_path(str(CONFIG)))
        declared = {found.ok().label for found in schema.get_all_operations() if isinstance(found, Ok)}
        for event in from_schema(schema).execute():
            if isinstance(event, events.NonFatalError | events.FatalError):
                failures[repr(event)] = str(getattr(event, "value", event))
            if not isinstance(event, events.ScenarioFinished) or event.status is Status.SKIP:
                continue
            scenarios[event.phase] += 1
            for case_id, checks in event.recorder.checks.items():
                interaction = event.recorder.interactions.get(case_id)
                response = None if interaction is None else interaction.response
                label = event.recorder.cases[case_id].value.operation.label
                answered[label] += response is not None
                for check in checks:
                    checked[check.name] += 1
                    if check.failure_info is not None and not _is_refusal(response):
                        failure = check.failure_info.failure
                        key = f"{check.name} {failure.operation} {failure.title}"
                        failures[key] = f"{failure.message}\n{check.failure_info.code_sample}\n{case_id}"
    assert not failures, "\n\n".join(f"{name}\n{told}" for name, told in failures.items())
    assert {phase for phase in PHASES if scenarios[phase]} == set(PHASES), scenarios
    assert set(checked) >= CHECKS
    assert declared <= set(answered)


def _is_refusal(response: Any) -> bool:
    """Whether every error of an answer says what is wrong with the request, and no more."""
    if response is None or response.status_code >= 500:
        return False
    errors = response.json().get("errors") or []
    told = [error.get("extensions", {}) for error in errors]
    return bool(told) and all(one.get("code") in ALLOWED and one.get("status", 500) < 500 for one in told)
