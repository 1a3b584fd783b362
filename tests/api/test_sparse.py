"""Sparse: what is sent is part of the whole, and nothing else."""

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.api.samples import HORSE

from hooflast.api.documents import BootDocument
from hooflast.api.parameters import ParameterUnreadable
from hooflast.api.sparse import MEDIA_TYPE, fields_of

anyio = pytest.mark.anyio
MEMBERS = BootDocument.__struct_fields__


@given(st.lists(st.sampled_from(MEMBERS), min_size=1))
def test_the_order_and_repeats_of_names_make_no_difference(names: list[str]) -> None:
    read = fields_of(BootDocument, member="items").read
    assert read(",".join(names)) == read(",".join(sorted(set(names))))
    assert read(str(read(",".join(names)))) == read(",".join(names))


@given(st.text(max_size=20).filter(lambda text: not set(text.split(",")) <= set(MEMBERS)))
def test_what_is_no_member_is_refused(text: str) -> None:
    with pytest.raises(ParameterUnreadable):
        fields_of(BootDocument, member="items").read(text)


@anyio
async def test_a_list_with_some_members_is_the_whole_list_without_the_others(client: httpx.AsyncClient) -> None:
    whole = (await client.get("/v1/boots?limit=100")).json()
    thin = await client.get("/v1/boots?limit=100&fields=name,id")
    assert thin.headers["content-type"] == MEDIA_TYPE
    assert thin.json() == {**whole, "items": [{"id": one["id"], "name": one["name"]} for one in whole["items"]]}


@anyio
async def test_the_next_page_is_as_sparse_as_the_first(client: httpx.AsyncClient) -> None:
    address, found = "/v1/boots?limit=7&fields=id", []
    while address:
        page = (await client.get(address)).json()
        found += page["items"]
        address = page["next"]
    assert [set(one) for one in found] == [{"id"}] * len(found)
    assert len(found) == len((await client.get("/v1/boots?limit=100")).json()["items"])


@anyio
async def test_each_choice_of_members_has_an_etag_of_its_own(client: httpx.AsyncClient) -> None:
    tags = [
        (await client.get(f"/v1/boots/vellory-oak{query}")).headers["etag"]
        for query in ("", "?fields=id", "?fields=id,name", "?fields=name,id")
    ]
    assert len(set(tags)) == 3
    assert tags[2] == tags[3]


@anyio
async def test_a_match_can_be_read_in_part(client: httpx.AsyncClient) -> None:
    made = await client.post("/v1/matches", json=HORSE)
    thin = (await client.get(f"{made.headers['location']}?fields=id,receipt")).json()
    assert thin == {name: made.json()[name] for name in ("id", "receipt")}


@anyio
async def test_an_unknown_member_is_told_with_the_closest(client: httpx.AsyncClient) -> None:
    refused = await client.get("/v1/boots?fields=nmae")
    assert refused.status_code == 400
    (error,) = refused.json()["errors"]
    assert (error["parameter"], error["received"]) == ("fields", "nmae")
    assert "name" in error["accepted"]
