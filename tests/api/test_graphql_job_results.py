"""Results of match jobs in GraphQL: what was kept, read back into its type, page by page."""

import json
from dataclasses import replace
from typing import Any

import httpx
import pytest
from graphql import get_named_type
from tests.api.graphql_asking import SCHEMA, as_input, ask, data_of, errors_of, in_graphql, whole
from tests.api.graphql_jobs import (
    BAD,
    HORSE_TYPE,
    RESULTS,
    WHOLE,
    created,
    ended,
    page,
    results,
    some_horses,
    whole_results,
)
from tests.api.samples import HORSE, serving
from tests.api.test_graphql import queries
from tests.api.test_match_jobs import AFTER, BEFORE, CSV, JOBS, SOLD
from tests.api.test_match_jobs import ended as ended_in_rest
from tests.api.test_match_jobs import horses as ndjson
from tests.api.test_match_jobs import results as results_in_rest
from tests.api.test_match_jobs import started as started_in_rest

from hooflast.api.graphql.bounds import FAULTS
from hooflast.api.paging import cursor_text
from hooflast.api.parameters import Query
from hooflast.store.match_jobs import MatchJobs

pytestmark = pytest.mark.anyio


class TestResults:
    """What was kept is read back into its type, page by page."""

    @pytest.mark.parametrize("answer", ["full", "short", "changes"])
    async def test_each_answer_stands_in_the_field_of_its_kind(self, client: httpx.AsyncClient, answer: str) -> None:
        job = await created(client, [as_input(HORSE, HORSE_TYPE), BAD], answer=answer.upper())
        await ended(client, job)
        found = await whole_results(client, job)
        rest = await results_in_rest(client, {"results": f"{JOBS}/{job['restId']}/results"})
        gives = get_named_type(SCHEMA.get_type("MatchJobResult").fields[answer].type)  # type: ignore[attr-defined,union-attr]
        assert [one[answer] for one in found] == [in_graphql(one["answer"], gives) for one in rest]
        assert found[0][answer]["hooves"] or answer == "changes"
        others = {"full", "short", "changes"} - {answer}
        assert all(one[other] is None for one in found for other in others)

    async def test_receipts_come_where_they_are_asked_for(self, client: httpx.AsyncClient) -> None:
        for wished, is_there in (({"receipts": "WITH"}, True), ({}, False)):
            job = await created(client, some_horses(1), **wished)
            await ended(client, job)
            (found,) = await whole_results(client, job)
            assert (found["full"]["receipt"] is not None) is is_there

    async def test_what_changes_is_told_and_added_up(self, database_url: str) -> None:
        async with serving(database_url, library=SOLD) as client:
            job = await created(client, some_horses(30), older=BEFORE.id)
            assert (job["answer"], job["catalogRelease"], job["compareWith"]) == ("CHANGES", AFTER.id, BEFORE.id)
            await ended(client, job)
            document = f"""query($id: ID!) {{ matchJob(id: $id) {{
              changes {whole("JobTotals")}
              results(first: 100, only: CHANGED) {{ nodes {{ line outcome changes {{ hooves {{ limb effects }} }} }} }}
            }} }}"""
            told = (await data_of(client, document, id=job["id"]))["matchJob"]
            nodes = told["results"]["nodes"]
            assert told["changes"]["horsesChanged"] == len(nodes) > 0
            assert told["changes"]["hooves"] == 30
            assert all(one["outcome"] == "CHANGED" and one["changes"]["hooves"][0]["effects"] for one in nodes)

    @pytest.mark.parametrize("first", [1, 7, 100])
    async def test_pages_together_are_what_rest_streams(self, client: httpx.AsyncClient, first: int) -> None:
        job = await started_in_rest(client, ndjson(3) + "\n\nno horse\n" + ndjson(9) + "no horse\n", answer="short")
        await ended_in_rest(client, job)
        node = {"id": job["id"]}
        for which, asked in (({}, {}), ({"only": "REFUSED"}, {"only": "refused"}), ({"line": 5}, {"after": 5})):
            seen: list[int] = []
            after, more = None, True
            while more:
                found = await page(client, node, first=first, after=after, **which)
                seen += [edge["node"]["line"] for edge in found["edges"]]
                assert found["pageInfo"]["hasPreviousPage"] is (after is not None)
                after, more = found["pageInfo"]["endCursor"], found["pageInfo"]["hasNextPage"]
            assert seen == [one["line"] for one in await results_in_rest(client, job, **asked)]

    async def test_a_csv_of_rest_is_read_with_its_rows_and_columns(self, client: httpx.AsyncClient) -> None:
        body = "horse,limb,width,length,measured_on\nBramble,LF,124,128,\nMoth,LF,124,128,soon\n"
        job = await started_in_rest(client, body, headers=CSV)
        await ended_in_rest(client, job)
        (refused,) = await results(client, {"id": job["id"]}, only="REFUSED")
        assert refused["line"] == 3
        assert refused["faults"] == [
            {"code": "date-unreadable", "pointer": None, "row": 3, "column": "measured_on", "received": "soon"}
        ]

    async def test_an_answer_that_was_once_written_otherwise_is_all_that_cannot_be_read(
        self, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        job = await created(client, [as_input(HORSE, HORSE_TYPE)] * 2)
        await ended(client, job)
        read = MatchJobs.results_of_each

        async def read_one_of_old(jobs: MatchJobs, *asked: Any, **more: Any) -> Any:
            (first, second), *_ = (await read(jobs, *asked, **more)).values()
            kept = json.loads(first.body)
            del kept["answer"]["asked"]
            return {job["restId"]: [replace(first, body=json.dumps(kept).encode()), second]}

        monkeypatch.setattr(MatchJobs, "results_of_each", read_one_of_old)
        answer = await ask(client, WHOLE, variables={"id": job["id"]})
        (error,) = errors_of(answer)
        assert error["path"] == ["matchJob", "results", "nodes", 0, "full"]
        assert (error["extensions"]["code"], error["extensions"]["status"]) == ("cannot-answer-again", 410)
        old, new = answer.json()["data"]["matchJob"]["results"]["nodes"]
        assert (old["line"], old["horseName"], old["full"]) == (1, "Bramble", None)
        assert new["full"]["hooves"]

    async def test_faults_are_no_more_than_the_schema_says(self, client: httpx.AsyncClient) -> None:
        spoiled = {**HORSE, **{f"x{place}": 1 for place in range(2 * FAULTS)}}
        job = await started_in_rest(client, json.dumps(spoiled))
        await ended_in_rest(client, job)
        (found,) = await results(client, {"id": job["id"]})
        (rest,) = await results_in_rest(client, job)
        assert len(rest["faults"]) > len(found["faults"]) == FAULTS

    @pytest.mark.parametrize(
        ("asked", "place", "code"),
        [
            ({"first": 0, "line": -1}, "/first", "parameter-not-a-whole-number"),
            ({"after": "x", "line": 2**30}, "/after", "cursor-unreadable"),
        ],
    )
    async def test_everything_that_is_wrong_with_a_page_is_told_at_once(
        self, client: httpx.AsyncClient, *, asked: dict[str, Any], place: str, code: str
    ) -> None:
        job = await created(client, some_horses(1))
        variables = {"id": job["id"], "first": 20, "line": 0, **asked}
        (error,) = errors_of(await ask(client, RESULTS, variables=variables))
        assert {one["pointer"]: one["code"] for one in error["extensions"]["errors"]} == {
            place: code, "/afterLine": "parameter-not-a-whole-number",
        }  # fmt: skip
        assert error["extensions"]["status"] == 400

    async def test_a_cursor_is_of_its_own_list(self, client: httpx.AsyncClient) -> None:
        job, other = [await created(client, some_horses(3)) for _ in range(2)]
        await ended(client, job)
        cursor = (await page(client, job, first=1))["pageInfo"]["endCursor"]
        for variables in (
            {"id": job["id"], "line": 1, "after": cursor},
            {"id": job["id"], "line": 0, "only": "REFUSED", "after": cursor},
            {"id": other["id"], "line": 0, "after": cursor},
        ):
            (error,) = errors_of(await ask(client, RESULTS, variables={"first": 5, **variables}))
            assert [one["code"] for one in error["extensions"]["errors"]] == ["cursor-of-another-query"]


@pytest.mark.parametrize("key", ["x", "1e3", "-1", "9" * 30])
async def test_a_cursor_that_is_no_line_is_refused(client: httpx.AsyncClient, key: str) -> None:
    job = await created(client, some_horses(1))
    query = Query(values={"after_line": 0, "limit": 5})
    forged = cursor_text(query=query, scope=f"match-jobs/{job['restId']}/results", release="", after=key)
    answer = await ask(client, RESULTS, variables={"id": job["id"], "first": 5, "line": 0, "after": forged})
    (error,) = errors_of(answer)
    assert [(one["code"], one["pointer"]) for one in error["extensions"]["errors"]] == [
        ("cursor-led-nowhere", "/after")
    ]


async def test_many_jobs_with_their_results_take_as_many_queries_as_one(client_on_both: httpx.AsyncClient) -> None:
    client = client_on_both
    listed = "{ found: matchJobs { nodes { id results(first: 2) { nodes { line } pageInfo { hasNextPage } } } } }"
    named = """query($ids: [ID!]!) { found: nodes(ids: $ids) {
      id ... on MatchJob { results(first: 2) { nodes { line full { hooves { limb } } } pageInfo { hasNextPage } } }
    } }"""
    counts: list[int] = []
    jobs: list[Any] = []
    for _ in range(2):
        jobs += [await created(client, some_horses(count)) for count in (1, 2, 3)]
        for job in jobs:
            await ended(client, job)
        for document, variables in ((listed, {}), (named, {"ids": [job["id"] for job in jobs]})):
            with queries() as asked:
                found = (await data_of(client, document, **variables))["found"]
            counts.append(len([one for one in asked if "match_job" in one and "match_job_turns" not in one]))
            nodes = found["nodes"] if isinstance(found, dict) else found
            by_id = {one["id"]: one["results"] for one in nodes}
            for job in jobs:
                lines = [one["line"] for one in by_id[job["id"]]["nodes"]]
                assert lines == list(range(1, min(job["horses"], 2) + 1))
                assert by_id[job["id"]]["pageInfo"]["hasNextPage"] is (job["horses"] > 2)
    assert counts == [2, 2, 2, 2]
