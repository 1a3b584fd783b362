"""GraphQL says what REST says: the same forms through both, answers and faults compared."""

import json
import math
from dataclasses import dataclass
from typing import Any

import httpx
import pytest
from graphql import get_named_type
from hypothesis import HealthCheck, assume, given, settings
from tests.api import test_match_jobs as match_jobs
from tests.api.graphql_asking import (
    SCHEMA,
    as_input,
    ask,
    camel_pointer,
    code_of,
    field_of_root,
    in_graphql,
    told_faults,
    whole,
)
from tests.api.graphql_jobs import HORSE_TYPE, created, whole_results
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
        code_of(problem),
        problem["status"],
        problem["type"],
    )
    assert error["message"] == problem["detail"]
    assert told_faults(told.get("errors", [])) == told_faults(problem.get("errors", []), spelled=camel_pointer)


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
async def test_provenance_is_alike(client: httpx.AsyncClient) -> None:
    record = whole("RecordProvenance")
    document = f"""query($after: String) {{
      boot(id: "ombrick-alder") {{ recordProvenance {record} }}
      maker(id: "vellory") {{ recordProvenance {record} }}
      catalogRelease(id: "{NEWER.id}") {{
        recordProvenance(kind: MAKER, recordId: "ombrick") {record}
        provenance(first: 7, after: $after) {{
          nodes {whole("ProvedStatement")} seal {whole("Seal")} pageInfo {{ endCursor hasNextPage }}
        }}
      }}
    }}"""
    data: Any = {}
    page: Any = {}
    after, more, statements = None, True, []
    while more:
        answer = await ask(client, document, variables={"after": after})
        assert answer.status_code == 200, answer.text
        data = answer.json()["data"]
        page = data["catalogRelease"]["provenance"]
        statements += page["nodes"]
        after, more = page["pageInfo"]["endCursor"], page["pageInfo"]["hasNextPage"]
    rest = (await client.get(f"{RELEASE}/provenance?limit=100")).json()
    assert statements == [in_graphql(one, SCHEMA.get_type("ProvedStatement")) for one in rest["items"]]
    assert page["seal"] == in_graphql(rest["seal"], SCHEMA.get_type("Seal"))
    for told, address in (
        (data["boot"], "boot/ombrick-alder"),
        (data["maker"], "maker/vellory"),
        (data["catalogRelease"], "maker/ombrick"),
    ):
        one = (await client.get(f"{RELEASE}/provenance/{address}")).json()
        assert told["recordProvenance"] == in_graphql(one, SCHEMA.get_type("RecordProvenance"))


@pytest.mark.anyio
@pytest.mark.parametrize(("kind", "record_id"), [("boot", "nobody"), ("accessory", "ombrick-alder"), ("maker", "")])
async def test_provenance_of_what_is_not_there_is_told_alike(
    client: httpx.AsyncClient, kind: str, record_id: str
) -> None:
    document = f"""{{ catalogRelease(id: "{NEWER.id}") {{
      restId recordProvenance(kind: {kind.upper()}, recordId: "{record_id}") {{ index }}
    }} }}"""
    answer = await ask(client, document)
    assert answer.json()["data"] == {"catalogRelease": {"restId": NEWER.id, "recordProvenance": None}}
    (error,) = answer.json()["errors"]
    problem = (await client.get(f"{RELEASE}/provenance/{kind}/{record_id}")).json()
    assert (error["extensions"]["code"], error["extensions"]["status"]) == ("not-found", problem["status"])


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


@pytest.mark.anyio
@pytest.mark.parametrize("answer", ["full", "short", "changes"])
async def test_match_jobs_are_alike(client: httpx.AsyncClient, answer: str) -> None:
    spoiled = {**HORSE, "hooves": [{**HORSE["hooves"][0], "width": "9 m", "measured_on": "soon"}]}
    forms = [HORSE, spoiled, *MatchForm.model_json_schema()["examples"]]
    file = "".join(json.dumps(form) + "\n" for form in forms)
    started = await match_jobs.started(client, file, answer=answer)
    job = await created(client, [as_input(form, HORSE_TYPE) for form in forms], answer=answer.upper())
    lines = []
    for job_id in (started["id"], job["restId"]):
        rest = await match_jobs.ended(client, {"id": job_id})
        told = await ask(client, f'{{ matchJob(id: "{job_id}") {whole("MatchJob")} }}')
        expected = in_graphql(rest, SCHEMA.get_type("MatchJob"))
        assert {name: told.json()["data"]["matchJob"][name] for name in expected} == expected
        lines.append(await match_jobs.results(client, rest))
        found = await whole_results(client, {"id": job_id})
        assert found == [
            in_graphql(one, SCHEMA.get_type("MatchJobResult")) | _answered(one, answer) for one in lines[-1]
        ]
    assert lines[0] == lines[1]


def _answered(result: Any, answer: str) -> dict[str, Any]:
    """The answer of a result in the field of its kind, and its faults with their places as GraphQL spells them."""
    gives = get_named_type(SCHEMA.get_type("MatchJobResult").fields[answer].type)  # type: ignore[attr-defined,union-attr]
    faults = [{**one, "pointer": camel_pointer(one["pointer"])} for one in result["faults"]]
    return {answer: in_graphql(result["answer"], gives), "faults": faults}


@pytest.mark.parametrize("number", ["1e999", "-1e999", "123456789012345678901234567890", "1" * 400, "1" * 5_000])
@pytest.mark.parametrize("places", [("width",), ("pad",), ("width", "pad")])
async def test_numbers_that_nothing_has_are_refused_alike(
    client: httpx.AsyncClient, number: str, places: tuple[str, ...]
) -> None:
    """Also those that are too large for their encoding, and where a field may be left out."""
    width, pad = (number if "width" in places else "124"), (number if "pad" in places else "6")
    form = f'{{"hooves": [{{"limb": "LF", "width": {width}, "length": 128}}], "pad": {pad}}}'
    document = f"""mutation {{ createMatch(input: {{
      hooves: [{{limb: LF, width: {width}, length: 128}}], pad: {pad}
    }}) {{ restId }} }}"""
    rest = await client.post("/v1/matches", content=form, headers={"Content-Type": "application/json"})
    (error,) = (await ask(client, document)).json()["errors"]
    told, problem = error["extensions"], rest.json()
    assert (told["status"], told["code"]) == (rest.status_code, code_of(problem))
    assert {(one["pointer"], one["code"]) for one in told["errors"]} == {
        (one["pointer"], one["code"]) for one in problem["errors"]
    }
