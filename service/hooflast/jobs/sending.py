"""Sending: one attempt to bring a message to its hook over HTTP, and what came of it.

A name is resolved once; every address it led to is looked at, and one of these is connected to, so that it cannot lead
elsewhere in between. TLS still asks for the name. Redirects are not followed, and of the answer only the head is read.
"""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import TracebackType
from typing import Final, Self

import httpx

from hooflast import __version__
from hooflast.jobs.addresses import PrivateAddresses, Resolve, is_public, resolve
from hooflast.jobs.retrying import read_retry_after
from hooflast.store.hook_values import Failure

SECONDS: Final = 15.0
"""How long an attempt may take, from the name to the head of the answer; the standard advises 15 to 30."""
MOST_ADDRESSES: Final = 4
_DEFAULT_PORTS: Final = {"http": 80, "https": 443}


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What came of one attempt: the receiver's status if it answered, and why it failed if it did."""

    status: int | None = None
    failure: Failure | None = None
    retry_after: timedelta | None = None


class AddressRefused(Exception):
    """A name leads to an address that hooks may not lead to."""


class Sender:
    """`async with Sender(private=...) as sender:` opens what attempts are made with, and closes it."""

    def __init__(self, *, private: PrivateAddresses, resolve: Resolve = resolve, seconds: float = SECONDS) -> None:
        self._private = private
        self._resolve = resolve
        self._seconds = seconds
        # A connection belongs to an address, not to a name: one kept open for a hook must never carry another's.
        limits = httpx.Limits(max_keepalive_connections=0)
        self._client = httpx.AsyncClient(trust_env=False, follow_redirects=False, timeout=seconds, limits=limits)

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, _type: type[BaseException] | None, _error: BaseException | None, _traceback: TracebackType | None
    ) -> None:
        await self._client.aclose()

    async def send(self, body: bytes, *, url: str, headers: Mapping[str, str], now: datetime) -> Attempt:
        """Make one attempt, which takes no longer than the time there is."""
        try:
            async with asyncio.timeout(self._seconds):
                return await self._attempt(body, url=httpx.URL(url), headers=headers, now=now)
        except (TimeoutError, httpx.TimeoutException):
            return Attempt(failure=Failure.TOO_SLOW)
        except AddressRefused:
            return Attempt(failure=Failure.ADDRESS_REFUSED)
        except (OSError, UnicodeError, httpx.InvalidURL):
            return Attempt(failure=Failure.NAME_UNKNOWN)
        except httpx.TransportError:
            return Attempt(failure=Failure.NO_CONNECTION)

    async def _attempt(self, body: bytes, *, url: httpx.URL, headers: Mapping[str, str], now: datetime) -> Attempt:
        addresses = await self._addresses(url)
        request = self._client.build_request(
            "POST",
            url,
            content=body,
            headers={
                "Host": url.netloc.decode("ascii"),
                "Content-Type": "application/json",
                "User-Agent": f"Hooflast/{__version__}",
                **headers,
            },
            extensions={"sni_hostname": url.host},
        )
        response = await self._first_answer(request, addresses=addresses)
        await response.aclose()
        if response.is_success:
            return Attempt(status=response.status_code)
        asked = read_retry_after(response.headers.get("retry-after"), now=now)
        return Attempt(status=response.status_code, failure=Failure.STATUS, retry_after=asked)

    async def _addresses(self, url: httpx.URL) -> Sequence[str]:
        found = await self._resolve(url.host, url.port or _DEFAULT_PORTS[url.scheme])
        if not found:
            raise OSError(f"{url.host} leads to no address")
        if self._private is PrivateAddresses.REFUSE and not all(is_public(address) for address in found):
            raise AddressRefused
        return found[:MOST_ADDRESSES]

    async def _first_answer(self, request: httpx.Request, *, addresses: Sequence[str]) -> httpx.Response:
        """The answer of the first address that can be connected to; the message reaches one of them at most."""
        *others, last = addresses
        for address in others:
            request.url = request.url.copy_with(host=address)
            try:
                return await self._client.send(request, stream=True)
            except httpx.ConnectError:
                continue
        request.url = request.url.copy_with(host=last)
        return await self._client.send(request, stream=True)
