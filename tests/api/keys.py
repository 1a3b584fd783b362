"""Keys of clients, made beside the service as an operator makes them, and clients that show them."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import httpx
from tests.api.samples import NOW, OLDER

from hooflast.access.issuing import KeyWish, issue
from hooflast.access.key import FixedWorld, Key, KeyKind, KeyLimits, KeyMode
from hooflast.store import TenantId, new_id, open_store
from hooflast.store.audit import Actor

SHOP_PAGES: Final = "https://tarn-and-tether.example"
TODAY: Final = NOW.date()
SOMEBODY: Final = Actor(who="user:juniper", at=NOW)
PLENTY: Final = KeyLimits(per_minute=100_000, per_day=100_000, per_visitor_minute=100_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A key, and how it is written."""

    key: Key
    written: str

    @property
    def shown(self) -> dict[str, str]:
        """The field of a request that shows it."""
        return {"Authorization": f"Bearer {self.written}"}

    def from_page(self, origin: str = SHOP_PAGES) -> dict[str, str]:
        """The fields of a request that a page of `origin` sends."""
        return {**self.shown, "Origin": origin}


async def made(database_url: str, *, client: str = "tarn-and-tether", day: date = TODAY, **wishes: Any) -> Made:
    """A key that was just made. In test mode it works on the older catalog release, and always on one day."""
    wish = KeyWish(**({"client": client, "name": "The till", "limits": PLENTY} | wishes))
    fixed = FixedWorld(catalog_release=OLDER.id, day=day)
    issued = issue(wish, key_id=new_id(), now=NOW, by=SOMEBODY.who, fixed=fixed)
    async with open_store(database_url) as store:
        await store.tenants.ensure(TenantId(issued.key.tenant), now=NOW)
        await store.client_keys.add(issued.key, by=SOMEBODY)
    return Made(key=issued.key, written=issued.written)


async def made_for_pages(database_url: str, **wishes: Any) -> Made:
    """A key for the pages of the shop."""
    return await made(database_url, **({"kind": KeyKind.BROWSER, "origins": (SHOP_PAGES,)} | wishes))


async def made_for_trying(database_url: str, **wishes: Any) -> Made:
    """A key in test mode."""
    return await made(database_url, mode=KeyMode.TEST, **wishes)


def code_of(answer: httpx.Response) -> str:
    """Which problem an answer is."""
    return str(answer.json()["type"]).rpartition("/")[2]
