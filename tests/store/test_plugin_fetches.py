"""Plugin fetches: what came from each source, for the next fetch, whichever process asks."""

import pytest

from hooflast.catalog.plugin import Held
from hooflast.store import open_store

pytestmark = pytest.mark.anyio


def held(version: str) -> Held:
    return Held(version=version, content=b"\x00\xff" * 100)


async def test_what_a_plugin_fetched_takes_the_place_of_what_it_fetched_before(database_url: str) -> None:
    async with open_store(database_url) as store, open_store(database_url) as other:
        await store.plugin_fetches.replace({"feed": {"a": held("1"), "b": held("1")}, "folder": {"c": held("1")}})
        assert (await other.plugin_fetches.all())["feed"] == {"a": held("1"), "b": held("1")}
        await other.plugin_fetches.replace({"feed": {"a": held("2")}})
        assert await store.plugin_fetches.all() == {"feed": {"a": held("2")}, "folder": {"c": held("1")}}
