"""Public only: connections that refuse addresses of private networks, of this machine and of its links.

A name is resolved once; what it led to is looked at and connected to, so that it cannot change in between. Every hop of
a redirect goes the same way.
"""

import socket
from collections.abc import Iterable
from ipaddress import IPv6Address, IPv6Network, ip_address
from ssl import create_default_context
from typing import Any, Final

import httpcore
import httpx

NAT64: Final = IPv6Network("64:ff9b::/96")
"""Addresses that stand for the IPv4 address in their last four bytes (RFC 6052)."""


class AddressRefused(httpx.ConnectError):
    """A name that leads to an address that is not public."""


class PublicOnly(httpcore.SyncBackend):
    """Connects by TCP to public addresses only."""

    def connect_tcp(  # noqa: PLR0917 (the signature of httpcore)
        self,
        host: str,
        port: int,
        timeout: float | None = None,
        local_address: str | None = None,
        socket_options: Iterable[Any] | None = None,
    ) -> httpcore.NetworkStream:
        """Resolve the name, look at every address, and connect to the first."""
        address = public_address(host, port=port)
        return super().connect_tcp(
            address, port, timeout=timeout, local_address=local_address, socket_options=socket_options
        )


class CheckedTransport(httpx.BaseTransport):
    """Carries httpx's requests over connections of a network backend."""

    def __init__(self, backend: httpcore.NetworkBackend) -> None:
        self._pool = httpcore.ConnectionPool(ssl_context=create_default_context(), network_backend=backend)

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """One request and its response, whose body is read as it is asked for."""
        url = httpcore.URL(
            scheme=request.url.raw_scheme,
            host=request.url.raw_host,
            port=request.url.port,
            target=request.url.raw_path,
        )
        asked = httpcore.Request(
            request.method, url, headers=request.headers.raw, content=request.stream, extensions=request.extensions
        )
        try:
            given = self._pool.handle_request(asked)
        except httpcore.TimeoutException as error:
            raise httpx.ConnectTimeout(str(error) or "no answer in time", request=request) from error
        except (httpcore.NetworkError, httpcore.ProtocolError) as error:
            raise httpx.NetworkError(str(error), request=request) from error
        return httpx.Response(given.status, headers=given.headers, stream=_Stream(given), extensions=given.extensions)

    def close(self) -> None:
        """Close every connection."""
        self._pool.close()


class _Stream(httpx.SyncByteStream):
    def __init__(self, response: httpcore.Response) -> None:
        self._response = response

    def __iter__(self) -> Any:
        try:
            yield from self._response.iter_stream()
        except httpcore.TimeoutException as error:
            raise httpx.ReadTimeout(str(error) or "no answer in time") from error
        except (httpcore.NetworkError, httpcore.ProtocolError) as error:
            raise httpx.ReadError(str(error)) from error

    def close(self) -> None:
        self._response.close()


def public_address(host: str, *, port: int) -> str:
    """The first address of a name, all of which are public. Raises AddressRefused, and OSError for an unknown name."""
    found = [str(entry[4][0]) for entry in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    for address in found:
        if not is_public(address):
            raise AddressRefused(f"{host} leads to {address}, which is not a public address")
    return found[0]


def is_public(address: str) -> bool:
    """Whether an address belongs to the public internet (IANA's special-purpose registries, as Python knows them)."""
    parsed = ip_address(address.partition("%")[0])
    if isinstance(parsed, IPv6Address):
        inner = parsed.ipv4_mapped or parsed.sixtofour or (parsed.teredo[1] if parsed.teredo else None)
        if inner is not None and not is_public(str(inner)):
            return False
        if parsed in NAT64:
            return is_public(str(ip_address(int(parsed) & 0xFFFFFFFF)))
    return parsed.is_global and not parsed.is_multicast
