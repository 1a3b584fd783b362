"""Fitting trials over HTTP."""

import httpx
import pytest

pytestmark = pytest.mark.anyio

QUESTION = {
    "method": "tape",
    "hooves": [{"limb": "LF", "width": 126.5, "length": 126.5}],
    "boot": "ombrick-alder",
}


async def test_a_trial_goes_from_size_to_size_with_all_try_ons_sent_each_time(client: httpx.AsyncClient) -> None:
    seen = [{"size": "dove", "finding": "turns"}, {"size": "thrush", "finding": "stays_put"}]
    come = []
    for so_far in (seen[:1], seen):
        answer = await client.post("/v1/fitting-trials", json=QUESTION | {"try_ons": so_far})
        assert (answer.status_code, answer.headers["cache-control"]) == (200, "no-store")
        document = answer.json()
        come.append(
            (document["advice"], document["size"], [one["size"] for one in document["sizes"] if one["was_tried"]])
        )
    assert come == [("try", "thrush", ["dove"]), ("move", "thrush", ["thrush", "dove"])]


async def test_the_same_question_has_the_same_answer_byte_for_byte(client: httpx.AsyncClient) -> None:
    one, other = [await client.post("/v1/fitting-trials", json=QUESTION) for _ in range(2)]
    assert one.content == other.content


async def test_a_painful_foot_is_answered_with_stop(client: httpx.AsyncClient) -> None:
    document = (await client.post("/v1/fitting-trials", json=QUESTION | {"needs": [{"need": "founder"}]})).json()
    assert (document["advice"], document["size"], document["sizes"]) == ("stop", None, [])


async def test_unknown_boot_models_and_sizes_are_faults_at_their_place(client: httpx.AsyncClient) -> None:
    wrong = QUESTION | {"boot": "nobody", "try_ons": [{"boot": "ombrick-birch", "size": "x", "finding": "turns"}]}
    answer = await client.post("/v1/fitting-trials", json=wrong)
    assert answer.status_code == 422
    assert {(one["pointer"], one["code"]) for one in answer.json()["errors"]} == {
        ("/boot", "boot-unknown"),
        ("/try_ons/0/size", "size-unknown"),
    }
