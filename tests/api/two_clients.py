"""Two clients: a service that two of them use, each with one of everything, and all that a client reads of its own."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any, Final

import httpx
from tests.api.belongings import OF_A_CLIENT, Ids, names_in
from tests.api.keys import Made, made
from tests.api.samples import serving

from hooflast.api.openapi import openapi_document
from hooflast.settings import Access

OPERATIONS: Final[list[tuple[str, str, dict[str, Any]]]] = [
    (method.upper(), path, operation)
    for path, methods in openapi_document()["paths"].items()
    for method, operation in methods.items()
]
FILLED: Final = {"picture": "hooves.svg", "limb": "LF"}
MINE: Final = "mossgate"
THEIRS: Final = "tarn-and-tether"


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoClients:
    """A client of the service, and for each of the two its key and what belongs to it."""

    http: httpx.AsyncClient
    keys: dict[str, Made]
    ids: dict[str, Ids]

    async def everything(self, name: str) -> dict[str, tuple[int, bytes]]:
        """All that one of them reads of its own."""
        found = {}
        for method, path, _ in OPERATIONS:
            if method == "GET" and set(names_in(path)) <= set(OF_A_CLIENT) | set(FILLED) and path.startswith("/v1/"):
                answer = await self.http.get(address_of(path, self.ids[name]), headers=self.keys[name].shown)
                found[path] = (answer.status_code, answer.content)
        return found


def address_of(path: str, ids: Ids) -> str:
    """An address with its parameters filled in."""
    for name in names_in(path):
        path = path.replace("{" + name + "}", (ids | FILLED)[name])
    return path


@asynccontextmanager
async def two_clients(database_url: str) -> AsyncIterator[TwoClients]:
    """A service that two clients use, each with one of everything."""
    keys = {name: await made(database_url, client=name) for name in (MINE, THEIRS)}
    async with serving(database_url, access=Access.KEYS) as client:
        ids: dict[str, Ids] = {name: {} for name in keys}
        for parameter, make in OF_A_CLIENT.items():
            for name, key in keys.items():
                ids[name][parameter] = await make(client, key.shown, ids[name])
        yield TwoClients(http=client, keys=keys, ids=ids)
