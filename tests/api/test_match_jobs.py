"""Match jobs over HTTP: a file of horses in, an answer per horse out, resumed at any line, apart from other clients."""

import csv
import io
import json
from collections.abc import AsyncIterator
from datetime import date, timedelta
from typing import Any

import httpx
import pytest
from tests.api.keys import made, made_for_trying
from tests.api.samples import HORSE, MAKERS, NEWER, NOW, OLDER, serving
from tests.matching.worlds import RIDING, boot, moved

from hooflast.access.key import Scope
from hooflast.api.job_media import CSV_EXAMPLE, NDJSON_EXAMPLE
from hooflast.api.openapi import openapi_document
from hooflast.catalog.library import Library
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import BootModel, CatalogRelease, MakerId
from hooflast.exchange.job_lines import COLUMNS
from hooflast.matching.receipt import read_receipt
from hooflast.settings import Access
from hooflast.store import open_store

pytestmark = pytest.mark.anyio
NDJSON = {"content-type": "application/x-ndjson"}
CSV = {"content-type": "text/csv"}
JOBS = "/v1/match-jobs"
BAD = '{"hooves":[{"limb":"LF","width":"wide","length":128}]}'


OAK = boot("vellory-oak", maker=MakerId("vellory"), intended_uses=RIDING)


def release_of(model: BootModel, *, month: int) -> CatalogRelease:
    records = Records(makers=MAKERS, boots={model.id: model}, accessories={})
    return compose_release(records, released_on=date(2026, month, 1), note="")


SOLD = Library(releases=(release_of(OAK, month=1), release_of(moved(OAK, by_mm=-8), month=2)))
BEFORE, AFTER = SOLD.releases


@pytest.fixture
async def sold(anyio_backend: str, database_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service with two catalog releases that differ, once on SQLite and once on PostgreSQL."""
    async with serving(database_url, library=SOLD) as client:
        yield client


def horses(count: int) -> str:
    lines = (
        {"horse": {"name": f"Bramble {place}"}, "hooves": [{"limb": "LF", "width": 110 + place % 30, "length": 128}]}
        for place in range(1, count + 1)
    )
    return "".join(json.dumps(line) + "\n" for line in lines)


async def started(client: httpx.AsyncClient, body: str | bytes, *, headers: Any = NDJSON, **params: str) -> Any:
    answer = await client.post(JOBS, content=body, headers=headers, params=params)
    assert answer.status_code == 201, answer.text
    return answer.json()


async def ended(client: httpx.AsyncClient, job: Any) -> Any:
    """The job, once it is over."""
    while True:
        told = (await client.get(f"{JOBS}/{job['id']}")).json()
        if told["state"] not in ("queued", "running"):
            return told


async def results(client: httpx.AsyncClient, job: Any, **params: Any) -> list[Any]:
    answer = await client.get(job["results"], params=params)
    assert answer.status_code == 200, answer.text
    return [json.loads(line) for line in answer.text.splitlines()]


async def test_a_file_of_horses_is_answered_line_by_line(client_on_both: httpx.AsyncClient) -> None:
    client = client_on_both
    body = f"{horses(3)}\n{BAD}\nnothing\n{horses(1)}"
    job = await started(client, body)
    assert (job["state"], job["horses"], job["answered"], job["refused"]) == ("queued", 6, 0, 0)
    assert (job["answer"], job["catalog_release"], job["compare_with"]) == ("full", NEWER.id, None)
    assert job["input_bytes"] == len(body)
    told = await ended(client, job)
    assert (told["state"], told["answered"], told["refused"], told["answered_to"]) == ("done", 4, 2, 7)
    found = await results(client, job)
    assert [(one["line"], one["outcome"]) for one in found] == [
        (1, "answered"), (2, "answered"), (3, "answered"), (5, "refused"), (6, "refused"), (7, "answered"),
    ]  # fmt: skip
    assert [one["horse_name"] for one in found] == ["Bramble 1", "Bramble 2", "Bramble 3", "", "", "Bramble 1"]
    assert [(fault["code"], fault["pointer"]) for fault in found[3]["faults"]] == [
        ("length-unreadable", "/hooves/0/width")
    ]
    assert [fault["code"] for fault in found[4]["faults"]] == ["not-json"]
    assert all(one["answer"] is None for one in found if one["faults"])


async def test_a_full_answer_is_that_of_a_match(client: httpx.AsyncClient) -> None:
    match = (await client.post("/v1/matches", json=HORSE)).json()
    job = await started(client, json.dumps(HORSE), answer="full")
    await ended(client, job)
    (one,) = await results(client, job)
    assert one["answer"] == {**match, "id": None, "receipt": None}


async def test_a_short_answer_has_the_first_boot_of_a_match(client: httpx.AsyncClient) -> None:
    match = (await client.post("/v1/matches", json=HORSE)).json()
    job = await started(client, json.dumps(HORSE), answer="short")
    await ended(client, job)
    (one,) = await results(client, job)
    for short, hoof in zip(one["answer"]["hooves"], match["hooves"], strict=True):
        first = hoof["boots"][0]
        assert short["limb"] == hoof["limb"]
        assert short["first"] == {
            "boot": first["boot"]["id"],
            "boot_name": first["boot"]["name"],
            "maker_name": first["boot"]["maker_name"],
            "size": first["best"]["size"],
            "fit_chance": first["best"]["fit_chance"],
            "width": first["best"]["width"]["verdict"],
            "length": first["best"]["length"]["verdict"],
        }
        assert short["cautions"] == hoof["cautions"] + first["cautions"]
    assert one["answer"]["cautions"] == match["cautions"]


async def test_receipts_come_where_they_are_asked_for_and_are_signed_here(sqlite_url: str) -> None:
    async with serving(sqlite_url) as client:
        job = await started(client, json.dumps(HORSE), receipts="with")
        await ended(client, job)
        (one,) = await results(client, job)
    async with open_store(sqlite_url) as store:
        key = await store.signing_keys.ensure_first(now=NOW)
    assert one["answer"]["id"] is None
    told = read_receipt(one["answer"]["receipt"], secret_of={key.kid: key.secret}.get)
    assert (told["jti"], told["catalog_release"]) == (f"{job['id']}/1", NEWER.id)
    assert [hoof["limb"] for hoof in told["hooves"]] == ["LF", "RF"]


async def test_who_changes_size_on_the_new_catalog_release_is_told(sold: httpx.AsyncClient) -> None:
    client, body = sold, horses(30)
    job = await started(client, body, answer="changes")
    assert (job["catalog_release"], job["compare_with"]) == (AFTER.id, BEFORE.id)
    told = await ended(client, job)
    found = await results(client, job)
    form = {"horses": [json.loads(line) for line in body.splitlines()], "since": BEFORE.id}
    effects = (await client.post("/v1/release-effects", json=form)).json()
    changed = [one for one in found if one["outcome"] == "changed"]
    assert changed
    assert [one["line"] - 1 for one in changed] == [one["place"] for one in effects["horses"]]
    assert [one["answer"]["hooves"] for one in changed] == [one["hooves"] for one in effects["horses"]]
    assert told["changes"]["hooves"] == effects["hooves_asked"] == 30
    assert told["changes"]["hooves_changed"] == effects["hooves_changed"]
    assert told["changes"]["horses_changed"] == len(changed)
    assert [one["line"] for one in await results(client, job, only="changed")] == [one["line"] for one in changed]
    assert await results(client, await started(client, body, compare_with=BEFORE.id), only="refused") == []


async def test_results_go_on_after_the_last_line_a_client_has(client: httpx.AsyncClient) -> None:
    job = await started(client, horses(120), answer="short")
    await ended(client, job)
    whole = (await client.get(job["results"])).text
    got = ""
    for after in (0, 1, 60, 119, 120):
        part = (await client.get(job["results"], params={"after": after})).text
        assert whole.endswith(part)
        got = "".join(whole.splitlines(keepends=True)[:after]) + part
        assert got == whole


async def test_a_file_sent_twice_under_one_key_is_one_job(client_on_both: httpx.AsyncClient) -> None:
    client, headers = client_on_both, {**NDJSON, "idempotency-key": '"herd-of-may"'}
    first, again = [await client.post(JOBS, content=horses(3), headers=headers) for _ in range(2)]
    assert (again.status_code, again.json()["id"]) == (201, first.json()["id"])
    assert (await client.post(JOBS, content=horses(4), headers=headers)).status_code == 422
    assert [one["id"] for one in (await client.get(JOBS)).json()["items"]] == [first.json()["id"]]
    assert (await started(client, horses(3)))["id"] != first.json()["id"]


async def test_csv_in_and_out(client: httpx.AsyncClient) -> None:
    job = await started(client, CSV_EXAMPLE, headers=CSV, answer="short")
    told = await ended(client, job)
    assert (told["written_as"], told["horses"], told["answered"]) == ("csv", 2, 2)
    answer = await client.get(job["results"], headers={"accept": "text/csv"})
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert [(row["line"], row["horse"], row["limb"]) for row in rows] == [
        ("2", "Bramble", "LF"), ("2", "Bramble", "RF"), ("4", "Juniper", "LF"),
    ]  # fmt: skip


@pytest.mark.parametrize("answer", ["full", "short", "changes"])
async def test_csv_results_say_what_the_json_says(client: httpx.AsyncClient, answer: str) -> None:
    body = f"{horses(20)}{BAD}\n"
    job = await started(client, body, answer=answer)
    await ended(client, job)
    found = await results(client, job)
    rows = list(csv.DictReader(io.StringIO((await client.get(job["results"], headers={"accept": "text/csv"})).text)))
    assert {int(row["line"]) for row in rows} == {one["line"] for one in found}
    for one in found:
        own = [row for row in rows if int(row["line"]) == one["line"]]
        assert {row["outcome"] for row in own} == {one["outcome"]}
        if one["faults"]:
            assert one["faults"][0]["detail"] in own[0]["faults"]
        elif answer == "full":
            shown = [fit["boot"]["id"] for hoof in one["answer"]["hooves"] for fit in hoof["boots"]]
            assert [row["boot"] for row in own if row["boot"]] == shown


async def test_a_heading_that_is_of_no_use_is_refused_at_once(client: httpx.AsyncClient) -> None:
    refused = await client.post(JOBS, content="horse,limb,width,leng\nBramble,LF,124,128\n", headers=CSV)
    assert refused.status_code == 422
    assert {error["code"] for error in refused.json()["errors"]} == {"missing", "unknown-field"}
    assert (await client.get(JOBS)).json()["items"] == []


@pytest.mark.parametrize("body", ["", "\n\n  \n", "horse,limb,width,length\n"])
async def test_a_file_without_a_horse_is_refused(client: httpx.AsyncClient, body: str) -> None:
    for headers in (NDJSON, CSV) if "," not in body else (CSV,):
        assert (await client.post(JOBS, content=body, headers=headers)).status_code == 422
    assert (await client.get(JOBS)).json()["items"] == []


async def test_what_is_too_large_is_refused_and_leaves_nothing(sqlite_url: str) -> None:
    async def endless() -> AsyncIterator[bytes]:
        while True:
            yield horses(10).encode()

    async with serving(sqlite_url, job_bytes=20_000, job_horses=50) as client:
        assert (await client.post(JOBS, content=horses(51), headers=NDJSON)).status_code == 422
        assert (await client.post(JOBS, content=endless(), headers=NDJSON)).status_code == 422
        assert (await client.post(JOBS, content=b"x" * 20_001, headers=NDJSON)).status_code == 413
        assert (await client.get(JOBS)).json()["items"] == []
        await started(client, horses(50))


async def test_a_horse_that_is_too_long_is_refused_by_itself(client: httpx.AsyncClient) -> None:
    job = await started(client, horses(1) + "x" * 70_000 + "\n" + horses(1))
    told = await ended(client, job)
    assert (told["answered"], told["refused"]) == (2, 1)
    (one,) = await results(client, job, only="refused")
    assert (one["line"], [fault["code"] for fault in one["faults"]]) == (2, ["line-too-long"])


@pytest.mark.parametrize(
    ("params", "status"),
    [
        ({"answer": "loud"}, 400),
        ({"compare_with": OLDER.id, "answer": "full"}, 400),
        ({"receipts": "with", "answer": "short"}, 400),
        ({"answer": "changes", "catalog_release": OLDER.id}, 400),
        ({"catalog_release": "sha256-" + "0" * 64}, 404),
        ({"compare_with": "sha256-" + "0" * 64}, 404),
    ],
)
async def test_what_cannot_be_answered_is_refused_before_the_file_is_read(
    client: httpx.AsyncClient, params: dict[str, str], status: int
) -> None:
    assert (await client.post(JOBS, content=horses(1), headers=NDJSON, params=params)).status_code == status


@pytest.mark.parametrize("media_type", ["application/json", "text/plain", "application/x-ndjson; charset=latin-1"])
async def test_other_media_types_are_refused(client: httpx.AsyncClient, media_type: str) -> None:
    answer = await client.post(JOBS, content=horses(1), headers={"content-type": media_type})
    assert answer.status_code == 415
    assert (await client.get(f"{JOBS}/x/results", headers={"accept": "application/json"})).status_code == 406


async def test_a_cancelled_job_stays_with_what_it_answered_until_it_is_removed(
    client_on_both: httpx.AsyncClient,
) -> None:
    client = client_on_both
    job = await started(client, horses(400))
    path = f"{JOBS}/{job['id']}"
    cancelled = (await client.post(f"{path}/cancellation")).json()
    assert cancelled["state"] == "cancelled"
    found = await results(client, job)
    assert len(found) == cancelled["answered"] < 400
    assert (await client.post(f"{path}/cancellation")).json() == cancelled
    assert (await client.delete(path)).status_code == 204
    for gone in (client.get(path), client.get(job["results"]), client.post(f"{path}/cancellation")):
        assert (await gone).status_code == 404
    assert (await client.delete(path)).status_code == 404


async def test_a_job_that_is_done_cannot_be_cancelled(client: httpx.AsyncClient) -> None:
    job = await started(client, horses(1))
    await ended(client, job)
    answer = await client.post(f"{JOBS}/{job['id']}/cancellation")
    assert (answer.status_code, answer.json()["type"].rpartition("/")[2]) == (409, "job-over")


async def test_a_job_that_has_not_changed_is_not_sent_again(client: httpx.AsyncClient) -> None:
    job = await started(client, horses(1))
    await ended(client, job)
    first = await client.get(f"{JOBS}/{job['id']}")
    again = await client.get(f"{JOBS}/{job['id']}", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


async def test_jobs_are_listed_newest_first_page_by_page(client: httpx.AsyncClient) -> None:
    made = [(await started(client, horses(1)))["id"] for _ in range(5)]
    address, found = f"{JOBS}?limit=2", []
    while address:
        page = (await client.get(address)).json()
        found += [one["id"] for one in page["items"]]
        address = page["next"]
    assert found == made[::-1]


async def test_a_key_in_test_mode_has_jobs_of_its_own_on_its_own_catalog_release_and_day(database_url: str) -> None:
    later = NOW + timedelta(days=60)
    async with serving(database_url, access=Access.KEYS, clock=lambda: later) as client:
        trying, real = await made_for_trying(database_url), await made(database_url)
        stranger, matching = await made(database_url, client="mossgate"), await made(database_url, scopes={Scope.MATCH})
        client.headers.update(trying.shown)
        job = await started(client, horses(3), answer="short")
        told = await ended(client, job)
        assert (told["state"], told["answered"], told["catalog_release"]) == ("done", 3, OLDER.id)
        assert (told["day"], told["created_at"][:10]) == (NOW.date().isoformat(), later.date().isoformat())
        assert len(await results(client, job)) == 3
        path = f"{JOBS}/{job['id']}"
        for other in (real, stranger):
            for method, address in (
                ("GET", path), ("GET", job["results"]), ("POST", f"{path}/cancellation"), ("DELETE", path),
            ):  # fmt: skip
                assert (await client.request(method, address, headers=other.shown)).status_code == 404
            assert (await client.get(JOBS, headers=other.shown)).json()["items"] == []
        assert (await client.get(path, headers=matching.shown)).status_code == 403
        assert (await client.delete(path)).status_code == 204


async def test_the_examples_are_answered_without_a_fault(client: httpx.AsyncClient) -> None:
    for body, headers in ((NDJSON_EXAMPLE, NDJSON), (CSV_EXAMPLE, CSV)):
        told = await ended(client, await started(client, body, headers=headers))
        assert (told["answered"], told["refused"]) == (2, 0)


async def test_a_job_is_kept_for_as_long_as_the_settings_say(sqlite_url: str) -> None:
    now = [NOW]
    async with serving(sqlite_url, clock=lambda: now[0], job_days=3) as client:
        told = await ended(client, await started(client, horses(2)))
        assert told["kept_until"] == (NOW + timedelta(days=3)).isoformat().replace("+00:00", "Z")
        now[0] += timedelta(days=3)
        other = await started(client, horses(1))
        await ended(client, other)
        assert [one["id"] for one in (await client.get(JOBS)).json()["items"]] == [other["id"]]


def test_every_column_of_a_csv_is_named_in_the_document() -> None:
    body = openapi_document()["paths"][JOBS]["post"]["requestBody"]["content"]["text/csv"]
    assert all(column in body["schema"]["description"] for column in COLUMNS)
