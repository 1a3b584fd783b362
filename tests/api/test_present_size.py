"""Present size over HTTP: an old size leads to what is in sale today, on the catalog release that is asked."""

from dataclasses import replace
from datetime import date, datetime
from typing import Any

import httpx
import pytest
from tests.api.samples import MAKERS, NOW, serving
from tests.matching.worlds import boot

from hooflast.catalog.library import Library
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import BootModel, CatalogRelease, MakerId, SizeCode, SizeSuccessor

pytestmark = pytest.mark.anyio
FIR, OAK = (boot(f"vellory-{name}", maker=MakerId("vellory")) for name in ("fir", "oak"))
ENDED = replace(
    OAK.sizes[0],
    code=SizeCode("old / 1"),
    discontinued_on=NOW.date(),
    successor=SizeSuccessor(boot=FIR.id, size=SizeCode("finch")),
)


def release_of(*boots: BootModel, month: int) -> CatalogRelease:
    records = Records(makers=MAKERS, boots={model.id: model for model in boots}, accessories={})
    return compose_release(records, released_on=date(2026, month, 1), note="")


BEFORE = release_of(OAK, month=1)
NOW_SOLD = release_of(replace(OAK, sizes=(ENDED, *OAK.sizes[1:])), FIR, month=3)
LIBRARY = Library(releases=(BEFORE, NOW_SOLD))


async def asked(client: httpx.AsyncClient, boot_id: str, **query: str) -> httpx.Response:
    return await client.get(f"/v1/boots/{boot_id}/present-size", params=query)


async def test_an_old_size_leads_to_the_one_that_took_its_place(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        answer = await asked(client, OAK.id, size="old / 1")
    told: dict[str, Any] = answer.json()
    assert (told["status"], told["on"], told["catalog_release"]) == ("replaced", "2026-05-01", NOW_SOLD.id)
    assert [(step["boot"], step["size"]) for step in told["steps"]] == [(OAK.id, "old / 1"), (FIR.id, "finch")]
    assert told["status_text"]
    assert answer.headers["content-language"] == "en"


async def test_the_day_before_it_was_still_in_sale(sqlite_url: str) -> None:
    def yesterday() -> datetime:
        return NOW.replace(month=4, day=30)

    async with serving(sqlite_url, library=LIBRARY, clock=yesterday) as client:
        assert (await asked(client, OAK.id, size="old / 1")).json()["status"] == "in_sale"


async def test_without_a_size_the_boot_model_is_followed(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        told = (await asked(client, OAK.id)).json()
    assert (told["status"], told["steps"][-1]["size"]) == ("in_sale", None)


async def test_a_pinned_catalog_release_is_asked_instead(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        assert (await asked(client, OAK.id, size="wren", catalog_release=BEFORE.id)).json()["status"] == "in_sale"
        assert (await asked(client, OAK.id, size="wren")).status_code == 404


@pytest.mark.parametrize(("boot_id", "size"), [("vellory-elm", "wren"), ("vellory-oak", "dodo")])
async def test_what_is_not_there_is_not_found(sqlite_url: str, boot_id: str, size: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        assert (await asked(client, boot_id, size=size)).status_code == 404


async def test_the_list_of_sizes_tells_their_days_and_successors(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        first, second, *_ = (await client.get(f"/v1/boots/{OAK.id}/sizes")).json()["items"]
    assert first["successor"] == {"boot": FIR.id, "size": "finch"}
    assert (first["available_from"], first["discontinued_on"]) == (None, "2026-05-01")
    assert (second["discontinued_on"], second["successor"]) == (None, None)
