"""Match jobs in GraphQL: horses handed over as a list by the rules of REST, followed, cancelled and removed."""

from datetime import timedelta
from typing import Any

import httpx
import pytest
from tests.api.graphql_asking import ask, codes_of, data_of, errors_of
from tests.api.graphql_jobs import BAD, CREATE, READ, RESULTS, created, ended, results, some_horses, whole_results
from tests.api.keys import made, made_for_trying
from tests.api.samples import NEWER, NOW, OLDER, serving
from tests.api.test_match_jobs import JOBS, NDJSON
from tests.api.test_match_jobs import ended as ended_in_rest
from tests.api.test_match_jobs import horses as ndjson
from tests.api.test_match_jobs import results as results_in_rest

from hooflast.access.key import Scope
from hooflast.api.graphql.match_jobs import FIELDS, MOST_HORSES, MUTATIONS
from hooflast.api.paging import cursor_text
from hooflast.api.parameters import Query
from hooflast.settings import Access
from hooflast.store import StoreUnavailable
from hooflast.store.audit import Actor
from hooflast.store.match_jobs import MatchJobs

pytestmark = pytest.mark.anyio
CANCEL = "mutation($id: ID!) { cancelMatchJob(id: $id) { id state answered } }"
REMOVE = "mutation($id: ID!) { removeMatchJob(id: $id) { id restId } }"


class TestHandingOver:
    """A list of horses becomes a job as a file in REST does, by the same rules."""

    async def test_horses_are_answered_one_by_one_and_a_bad_one_stops_no_other(
        self, client_on_both: httpx.AsyncClient
    ) -> None:
        client = client_on_both
        job = await created(client, [*some_horses(2), BAD, *some_horses(1)])
        assert {name: job[name] for name in ("state", "horses", "answered", "answer", "writtenAs", "language")} == {
            "state": "QUEUED", "horses": 4, "answered": 0, "answer": "FULL", "writtenAs": "NDJSON", "language": "en",
        }  # fmt: skip
        assert (job["catalogRelease"], job["compareWith"]) == (NEWER.id, None)
        told = await ended(client, job)
        assert (told["state"], told["answered"], told["refused"], told["answeredTo"]) == ("DONE", 3, 1, 4)
        found = await results(client, job)
        assert [(one["line"], one["outcome"]) for one in found] == [
            (1, "ANSWERED"), (2, "ANSWERED"), (3, "REFUSED"), (4, "ANSWERED"),
        ]  # fmt: skip
        assert [one["horseName"] for one in found] == ["Bramble 1", "Bramble 2", "", "Bramble 1"]
        assert sorted((fault["code"], fault["pointer"], fault["received"]) for fault in found[2]["faults"]) == [
            ("date-unreadable", "/hooves/0/measuredOn", "soon"),
            ("length-unreadable", "/hooves/0/width", "wide"),
        ]

    async def test_a_job_is_one_of_rest_as_well(self, client: httpx.AsyncClient) -> None:
        job = await created(client, some_horses(3), answer="SHORT")
        told = await ended_in_rest(client, {"id": job["restId"]})
        assert (told["state"], told["answered"], told["input_bytes"]) == ("done", 3, job["inputBytes"])
        assert told["results"] == (await ended(client, job))["resultsAddress"]
        assert [one["line"] for one in await results_in_rest(client, told)] == [1, 2, 3]

    async def test_a_list_sent_twice_under_one_key_is_one_job(self, client_on_both: httpx.AsyncClient) -> None:
        client, headers = client_on_both, {"Idempotency-Key": '"herd-of-may"'}
        sent = [
            await ask(client, CREATE, variables={"horses": some_horses(count)}, headers=headers) for count in (3, 3, 4)
        ]
        first, again, other = sent
        assert again.json() == first.json()
        assert other.status_code == 422
        (listed,) = (await client.get(JOBS)).json()["items"]
        assert listed["id"] == first.json()["data"]["createMatchJob"]["restId"]

    async def test_numbers_that_no_horse_has_are_faults_of_that_horse(self, client: httpx.AsyncClient) -> None:
        document = """mutation { createMatchJob(horses: [
          {hooves: [{limb: LF, width: 1e999, length: 128}]}
          {hooves: [{limb: LF, width: 123456789012345678901234567890, length: 128}]}
          {hooves: [{limb: LF, width: 120, length: 128}]}
        ]) { id } }"""
        told = await ended(client, (await data_of(client, document))["createMatchJob"])
        assert (told["answered"], told["refused"]) == (1, 2)

    async def test_a_job_that_was_begun_is_told_even_if_the_store_goes_away_just_then(
        self, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Else it would be begun a second time by who is told that it was not."""

        async def shut(*_: Any, **__: Any) -> None:
            raise StoreUnavailable(reason="for a while")

        monkeypatch.setattr(MatchJobs, "abandon", shut)
        job = await created(client, some_horses(1))
        (listed,) = (await client.get(JOBS)).json()["items"]
        assert listed["id"] == job["restId"]
        assert (await client.post(JOBS, content=ndjson(1), headers=NDJSON)).status_code == 201

    async def test_too_many_and_no_horses_are_refused_and_leave_nothing(self, sqlite_url: str) -> None:
        async with serving(sqlite_url, job_horses=50, job_bytes=20_000) as client:
            wide = [{**some_horses(1)[0], "horse": {"name": "x" * 400}}] * 49
            for horses, code, status, pointer in (
                ([], "too-few", 422, "/horses"),
                (some_horses(51), "too-many", 422, "/horses"),
                (some_horses(1) * (MOST_HORSES + 1), "too-many", 422, "/horses"),
                (wide, "body-too-large", 413, None),
            ):
                (error,) = errors_of(await ask(client, CREATE, variables={"horses": horses}))
                told = error["extensions"]
                assert told["status"] == status
                if pointer is None:
                    assert told["code"] == code
                else:
                    assert [(one["code"], one["pointer"]) for one in told["errors"]] == [(code, pointer)]
            assert (await data_of(client, "{ matchJobs { nodes { id } } }"))["matchJobs"]["nodes"] == []
            assert (await client.get(JOBS)).json()["items"] == []
            await created(client, some_horses(50))

    @pytest.mark.parametrize(
        "wished",
        [
            {"older": OLDER.id, "answer": "FULL"},
            {"older": OLDER.id, "answer": "SHORT", "receipts": "WITH"},
            {"receipts": "WITH", "answer": "CHANGES"},
            {"answer": "CHANGES", "release": OLDER.id},
            {"older": "sha256-0"},
            {"older": "sha256-0", "release": "the newest", "receipts": "WITH"},
            {"release": "sha256-" + "0" * 64},
            {"older": "sha256-" + "0" * 64},
        ],
    )
    async def test_what_cannot_be_answered_is_refused_as_in_rest(
        self, client: httpx.AsyncClient, wished: dict[str, str]
    ) -> None:
        params = {
            {"older": "compare_with", "release": "catalog_release"}.get(name, name): value.lower()
            for name, value in wished.items()
            if value != "the newest"
        } | ({"catalog_release": "the newest"} if "the newest" in wished.values() else {})
        refused = await client.post(JOBS, content=ndjson(1), headers=NDJSON, params=params)
        (error,) = errors_of(await ask(client, CREATE, variables={"horses": some_horses(1), **wished}))
        told, problem = error["extensions"], refused.json()
        assert (told["status"], told["type"]) == (refused.status_code, problem["type"])
        spelled = {"compare_with": "/compareWith", "catalog_release": "/catalogRelease", "receipts": "/receipts"}
        named = {spelled[one["parameter"]]: (one["code"], one["detail"]) for one in problem.get("errors", [])}
        shown = {one["pointer"]: (one["code"], one["detail"]) for one in told.get("errors", [])}
        assert named.items() <= shown.items()
        assert (await client.get(JOBS)).json()["items"] == []

    async def test_the_language_is_that_of_the_request(self, client: httpx.AsyncClient) -> None:
        answer = await ask(client, CREATE, variables={"horses": [BAD]}, headers={"Accept-Language": "sv"})
        job = answer.json()["data"]["createMatchJob"]
        assert job["language"] == "sv"
        await ended(client, job)
        (found,) = await whole_results(client, job)
        (rest,) = await results_in_rest(client, {"results": f"{JOBS}/{job['restId']}/results"})
        assert [one["detail"] for one in found["faults"]] == [one["detail"] for one in rest["faults"]]


class TestEnding:
    """Cancelled, removed, and gone."""

    async def test_a_cancelled_job_stays_with_what_it_answered_until_it_is_removed(
        self, client_on_both: httpx.AsyncClient
    ) -> None:
        client = client_on_both
        job = await created(client, some_horses(400))
        cancelled = (await data_of(client, CANCEL, id=job["restId"]))["cancelMatchJob"]
        assert (cancelled["id"], cancelled["state"]) == (job["id"], "CANCELLED")
        assert (await data_of(client, CANCEL, id=job["id"]))["cancelMatchJob"] == cancelled
        kept = f"{JOBS}/{job['restId']}"
        assert len(await results_in_rest(client, {"results": f"{kept}/results"})) == cancelled["answered"] < 400
        removed = (await data_of(client, REMOVE, id=job["id"]))["removeMatchJob"]
        assert removed == {"id": job["id"], "restId": job["restId"]}
        for document in (READ, CANCEL, REMOVE):
            assert codes_of(await ask(client, document, variables={"id": job["id"]})) == ["not-found"]
        assert (await data_of(client, "query($id: ID!) { node(id: $id) { id } }", id=job["id"])) == {"node": None}
        assert (await client.get(kept)).status_code == 404

    async def test_results_of_a_job_that_was_removed_are_not_told_again(self, client: httpx.AsyncClient) -> None:
        """Whether or not the answer that was kept under a key names the job."""
        job = await created(client, some_horses(400))
        while not await results(client, job, first=1):
            pass
        document = "mutation($id: ID!) { cancelMatchJob(id: $id) { results { nodes { horseName } } } }"
        key = {"Idempotency-Key": "one"}
        told = await ask(client, document, variables={"id": job["id"]}, headers=key)
        assert told.json()["data"]["cancelMatchJob"]["results"]["nodes"][0] == {"horseName": "Bramble 1"}
        assert (await ask(client, document, variables={"id": job["id"]}, headers=key)).content == told.content
        await data_of(client, REMOVE, id=job["id"])
        again = await ask(client, document, variables={"id": job["id"]}, headers=key)
        assert codes_of(again) == ["not-found"]

    async def test_a_job_that_is_done_cannot_be_cancelled(self, client: httpx.AsyncClient) -> None:
        job = await created(client, some_horses(1))
        await ended(client, job)
        (error,) = errors_of(await ask(client, CANCEL, variables={"id": job["id"]}))
        assert (error["extensions"]["code"], error["extensions"]["status"]) == ("job-over", 409)

    @pytest.mark.parametrize("id_", ["", "x", "01a2140f-6392-7016-add9-1daee66f0854", "Qm9vdApvbWJyaWNrLWFsZGVy"])
    async def test_what_is_no_job_is_not_found(self, client: httpx.AsyncClient, id_: str) -> None:
        for document in (READ, CANCEL, REMOVE):
            assert codes_of(await ask(client, document, variables={"id": id_})) == ["not-found"]

    async def test_results_that_are_erased_meanwhile_do_not_end_as_if_they_were_whole(
        self, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        job = await created(client, some_horses(3))
        await ended(client, job)
        read = MatchJobs.results_of_each

        async def read_too_late(jobs: MatchJobs, *asked: Any, **more: Any) -> Any:
            await jobs.remove(job["restId"], tenant=more["tenant"], by=Actor(who="key:k1", at=NOW))
            return await read(jobs, *asked, **more)

        monkeypatch.setattr(MatchJobs, "results_of_each", read_too_late)
        answer = await ask(client, RESULTS, variables={"id": job["id"], "first": 2, "line": 0})
        assert codes_of(answer) == ["not-found"]


class TestKeys:
    """What REST asks of a key is asked of it here, field by field."""

    async def test_every_field_takes_the_scope_of_jobs(self, database_url: str) -> None:
        async with serving(database_url, access=Access.KEYS) as client:
            matching = (await made(database_url, scopes={Scope.MATCH, Scope.READ, Scope.ERASE})).shown
            client.headers.update((await made(database_url, scopes={Scope.JOBS, Scope.READ})).shown)
            job = await created(client, some_horses(1))
            await ended(client, job)
            for document in (READ, RESULTS, CANCEL, REMOVE, "query($id: ID!) { node(id: $id) { id } }"):
                variables = {"id": job["id"], "first": 1, "line": 0}
                used = {name: value for name, value in variables.items() if f"${name}" in document}
                assert codes_of(await ask(client, document, variables=used, headers=matching)) == ["scope-missing"]
            for document, used in (("{ matchJobs { nodes { id } } }", {}), (CREATE, {"horses": some_horses(1)})):
                assert codes_of(await ask(client, document, variables=used, headers=matching)) == ["scope-missing"]
            assert (await ended(client, job))["state"] == "DONE"

    async def test_a_key_in_test_mode_has_jobs_of_its_own_on_its_own_catalog_release_and_day(
        self, database_url: str
    ) -> None:
        later = NOW + timedelta(days=60)
        async with serving(database_url, access=Access.KEYS, clock=lambda: later) as client:
            real = (await made(database_url)).shown
            client.headers.update((await made_for_trying(database_url)).shown)
            told = await ended(client, job := await created(client, some_horses(2)))
            assert (told["state"], told["answered"], told["catalogRelease"]) == ("DONE", 2, OLDER.id)
            assert (told["day"], told["createdAt"][:10]) == (NOW.date().isoformat(), later.date().isoformat())
            for document in (READ, CANCEL, REMOVE):
                assert codes_of(await ask(client, document, variables={"id": job["id"]}, headers=real)) == ["not-found"]
            seen = await ask(client, "{ matchJobs { nodes { id } } }", headers=real)
            assert seen.json()["data"]["matchJobs"]["nodes"] == []


async def test_jobs_are_listed_newest_first_page_by_page(client: httpx.AsyncClient) -> None:
    jobs = [(await created(client, some_horses(1)))["id"] for _ in range(5)]
    document = """query($after: String) {
      matchJobs(first: 2, after: $after) { nodes { id } pageInfo { endCursor hasNextPage } }
    }"""
    seen: list[str] = []
    after, more = None, True
    while more:
        found = (await data_of(client, document, after=after))["matchJobs"]
        seen += [one["id"] for one in found["nodes"]]
        after, more = found["pageInfo"]["endCursor"], found["pageInfo"]["hasNextPage"]
    assert seen == jobs[::-1]
    again = await data_of(client, "query($ids: [ID!]!) { nodes(ids: $ids) { id } }", ids=jobs)
    assert [one["id"] for one in again["nodes"]] == jobs


@pytest.mark.parametrize("key", ["x", "sha256-0"])
async def test_a_cursor_that_leads_to_no_job_leads_to_none(client_on_both: httpx.AsyncClient, key: str) -> None:
    client, document = client_on_both, "query($after: String) { matchJobs(after: $after) { nodes { id } } }"
    await created(client, some_horses(1))
    forged = cursor_text(query=Query(values={"limit": 20}), scope="match-jobs", release="", after=key)
    assert (await data_of(client, document, after=forged))["matchJobs"]["nodes"] == []
    of_rest = cursor_text(query=Query(values={"limit": 20}), scope=JOBS, release="", after=key)
    assert (await client.get(JOBS, params={"cursor": of_rest})).json()["items"] == []


def test_everything_that_rest_has_for_jobs_is_here() -> None:
    assert set(FIELDS) | set(MUTATIONS) == {
        "match_jobs", "match_job", "create_match_job", "cancel_match_job", "remove_match_job",
    }  # fmt: skip
