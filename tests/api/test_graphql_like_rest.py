"""GraphQL says what REST says: the same forms through both, answers and faults compared."""

import math
from dataclasses import dataclass
from typing import Any

import httpx
import pytest
from graphql import get_named_type
from hypothesis import HealthCheck, assume, given, settings
from tests.api.graphql_asking import SCHEMA, as_input, ask, field_of_root, in_graphql, whole
from tests.api.samples import HORSE, NEWER
from tests.exchange.strategies import match_documents, spoiled_documents

from hooflast.api import works
from hooflast.api.graphql.naming import camel
from hooflast.api.graphql.works import FIELDS as WORK_FIELDS
from hooflast.api.routes import operations
from hooflast.api.workplace import Work
from hooflast.exchange import MatchForm

FORM_OF = {operation.path: operation.takes for operation in operations() if operation.gives not in ("svg", "html")}
PATHS = {
    "pads": "/v1/pads",
    "trimCycle": "/v1/trim-cycles",
    "fittingTrial": "/v1/fitting-trials",
    "orderPlan": "/v1/order-plans",
    "trialSet": "/v1/trial-sets",
    "coverage": "/v1/coverage",
    "calibrationProposal": "/v1/calibration-proposals",
    "releaseEffects": "/v1/release-effects",
}
RELEASE = f"/v1/catalog-releases/{NEWER.id}"
ONLY_IN_ONE = {"id", "receipt"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One form as both answer it."""

    rest: httpx.Response
    graphql: httpx.Response
    field: str
    gives: Any

    @property
    def data(self) -> Any:
        answered = self.graphql.json().get("data")
        return answered[self.field] if answered else None


async def both(client: httpx.AsyncClient, form: Any, *, field: str, path: str, root: str = "Query") -> Pair:
    declared = field_of_root(root, field)
    takes, gives = declared.args["input"].type, declared.type
    kind = "mutation" if root == "Mutation" else "query"
    document = f"{kind}($input: {takes}) {{ {field}(input: $input) {whole(get_named_type(gives))} }}"
    graphql = await ask(client, document, variables={"input": as_input(form, takes)})
    return Pair(rest=await client.post(path, json=form), graphql=graphql, field=field, gives=gives)


def assert_alike(pair: Pair) -> None:
    if pair.rest.status_code in (200, 201):
        assert pair.graphql.status_code == 200, pair.graphql.text
        expected = in_graphql(pair.rest.json(), get_named_type(pair.gives))
        shown = {name: value for name, value in pair.data.items() if name in expected and name not in ONLY_IN_ONE}
        assert shown == {name: value for name, value in expected.items() if name not in ONLY_IN_ONE}
        return
    problem = pair.rest.json()
    errors = pair.graphql.json()["errors"]
    if pair.graphql.status_code == 400:
        assert {error["extensions"]["code"] for error in errors} == {"variables-refused"}
        return
    assert pair.data is None
    (error,) = errors
    told = error["extensions"]
    assert (told["code"], told["status"], told["type"]) == (
        _code(problem),
        problem["status"],
        problem["type"],
    )
    assert error["message"] == problem["detail"]
    assert _faults(told.get("errors", [])) == _faults(problem.get("errors", []), spelled=_camel_pointer)


def _code(problem: dict[str, Any]) -> str:
    return str(problem["type"]).rsplit("/", 1)[1]


def _faults(errors: list[dict[str, Any]], *, spelled: Any = lambda pointer: pointer) -> list[Any]:
    return sorted(
        (spelled(one["pointer"]), one["code"], one["detail"], _received(one), one.get("accepted")) for one in errors
    )


def _received(error: dict[str, Any]) -> str:
    """What came, but for objects and lists: of these GraphQL hands on what was left out, too."""
    received = error.get("received")
    return "" if isinstance(received, str) and received.startswith(("[", "{")) else repr(received)


def _camel_pointer(pointer: str) -> str:
    return "/".join(map(camel, pointer.split("/")))


def _examples(path: str) -> list[Any]:
    form = FORM_OF[path]
    assert isinstance(form, type)
    return list(form.model_json_schema()["examples"])


@pytest.mark.anyio
@pytest.mark.parametrize("field", sorted(PATHS))
async def test_examples_of_forms_are_answered_alike(client: httpx.AsyncClient, field: str) -> None:
    for form in _examples(PATHS[field]):
        assert_alike(await both(client, form, field=field, path=PATHS[field]))


def test_everything_that_is_worked_out_is_compared() -> None:
    assert {camel(name) for name in WORK_FIELDS} == set(PATHS)
    worked_out = {work.form for work in vars(works).values() if isinstance(work, Work)}
    assert {FORM_OF[path] for path in PATHS.values()} == worked_out


@pytest.mark.anyio
async def test_examples_of_matches_are_answered_alike(client: httpx.AsyncClient) -> None:
    for form in (HORSE, *MatchForm.model_json_schema()["examples"]):
        pair = await both(client, form, field="createMatch", path="/v1/matches", root="Mutation")
        assert_alike(pair)


@pytest.mark.anyio
@pytest.mark.parametrize("field", sorted(PATHS))
async def test_faults_of_forms_are_told_alike(client: httpx.AsyncClient, field: str) -> None:
    for form in _examples(PATHS[field]):
        assert_alike(await both(client, {**form, "catalog_release": "sha256-0"}, field=field, path=PATHS[field]))
        if "hooves" in form:
            spoiled = {**form, "hooves": [{**form["hooves"][0], "width": "9 m", "measured_on": "soon"}] * 2}
            assert_alike(await both(client, spoiled, field=field, path=PATHS[field]))


@pytest.mark.anyio
@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(form=match_documents() | spoiled_documents())
async def test_any_horse_is_answered_alike(client: httpx.AsyncClient, form: Any) -> None:
    assume(isinstance(form, dict) and _is_json(form))
    assert_alike(await both(client, form, field="createMatch", path="/v1/matches", root="Mutation"))


def _is_json(value: Any) -> bool:
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, str):
        return value.isprintable()
    if isinstance(value, dict):
        return all(_is_json(key) and _is_json(inner) for key, inner in value.items())
    return all(map(_is_json, value)) if isinstance(value, list) else True


@pytest.mark.anyio
@pytest.mark.parametrize(
    ("address", "member", "document", "way"),
    [
        ("/v1/makers/ombrick", "maker", '{ found: maker(id: "ombrick") %s }', "Maker"),
        ("/v1/boots/ombrick-alder", "boot", '{ found: boot(id: "ombrick-alder") %s }', "Boot"),
        (RELEASE, None, '{ found: catalogRelease(id: "' + NEWER.id + '") %s }', "CatalogRelease"),
        ("/v1/troubleshooting/turns", None, "{ found: trouble(trouble: TURNS) %s }", "TroubleGuide"),
    ],
)
async def test_what_is_read_is_alike(
    client: httpx.AsyncClient, address: str, member: str | None, document: str, way: str
) -> None:
    rest = (await client.get(address)).json()
    rest = rest if member is None else rest[member]
    answer = await ask(client, document % whole(way))
    assert answer.status_code == 200, answer.text
    expected = in_graphql(rest, SCHEMA.get_type(way))
    found = answer.json()["data"]["found"]
    assert {name: found[name] for name in expected} == expected
    assert expected


@pytest.mark.anyio
@pytest.mark.parametrize(
    ("address", "field", "item"),
    [
        ("/v1/makers", "makers", "Maker"),
        ("/v1/boots?use=road", "boots(use: ROAD)", "Boot"),
        ("/v1/catalog-releases", "catalogReleases", "CatalogRelease"),
        ("/v1/plugins", "plugins", "Plugin"),
        ("/v1/troubleshooting", "troubles", "TroubleGuide"),
    ],
)
async def test_lists_are_alike(client: httpx.AsyncClient, address: str, field: str, item: str) -> None:
    rest = (await client.get(address)).json()["items"]
    answer = await ask(client, f"{{ found: {field} {{ nodes {whole(item)} }} }}")
    assert answer.status_code == 200, answer.text
    expected = [in_graphql(one, SCHEMA.get_type(item)) for one in rest]
    found = answer.json()["data"]["found"]["nodes"]
    assert [{name: one[name] for name in like} for one, like in zip(found, expected, strict=True)] == expected


@pytest.mark.anyio
async def test_sizes_and_changes_and_present_sizes_are_alike(client: httpx.AsyncClient) -> None:
    document = f"""{{
      boot(id: "ombrick-alder") {{
        sizes {{ nodes {whole("Size")} }}
        presentSize(size: "wren") {whole("PresentSize")}
      }}
      catalogRelease(id: "{NEWER.id}") {{
        changes {{ nodes {whole("RecordChange")} counts {whole("Counts")} since }}
      }}
    }}"""
    answer = await ask(client, document)
    assert answer.status_code == 200, answer.text
    data = answer.json()["data"]
    sizes = (await client.get("/v1/boots/ombrick-alder/sizes")).json()["items"]
    present = (await client.get("/v1/boots/ombrick-alder/present-size?size=wren")).json()
    changes = (await client.get(f"/v1/catalog-releases/{NEWER.id}/changes")).json()
    assert data["boot"]["sizes"]["nodes"] == [in_graphql(one, SCHEMA.get_type("Size")) for one in sizes]
    assert data["boot"]["presentSize"] == in_graphql(present, SCHEMA.get_type("PresentSize"))
    told = data["catalogRelease"]["changes"]
    assert told["nodes"] == [in_graphql(one, SCHEMA.get_type("RecordChange")) for one in changes["items"]]
    assert told["counts"] == [in_graphql(one, SCHEMA.get_type("Counts")) for one in changes["counts"]]
    assert told["since"] == changes["since"]
