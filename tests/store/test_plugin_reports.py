"""Plugin reports: the last ones only, for every process."""

from datetime import timedelta

import pytest
from tests.store.samples import NOW

from hooflast.store import open_store

pytestmark = pytest.mark.anyio


async def test_reports_take_the_place_of_all_before_them(database_url: str) -> None:
    async with open_store(database_url) as store, open_store(database_url) as other:
        await store.plugin_reports.replace({"folder": b"1", "demo": b"2"}, asked_at=NOW)
        assert list((await other.plugin_reports.all()).items()) == [("demo", b"2"), ("folder", b"1")]
        await other.plugin_reports.replace({"folder": b"3"}, asked_at=NOW + timedelta(days=1))
        assert await store.plugin_reports.all() == {"folder": b"3"}
        await store.plugin_reports.replace({}, asked_at=NOW)
        assert await store.plugin_reports.all() == {}
