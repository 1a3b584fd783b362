"""Addresses: which addresses a hook may lead to, and what a name leads to.

A client chooses where its hooks lead; without this rule it could reach, by way of the service, what only the service
can reach: this machine, its private network, the metadata of a cloud.
"""

import asyncio
import socket
from collections.abc import Awaitable, Callable, Sequence
from enum import StrEnum
from ipaddress import IPv6Address, IPv6Network, ip_address
from typing import Final

Resolve = Callable[[str, int], Awaitable[Sequence[str]]]
"""From a name and a port to addresses. Raises OSError if the name is not known."""

NAT64: Final = IPv6Network("64:ff9b::/96")
"""Addresses that stand for the IPv4 address in their last four bytes (RFC 6052)."""


class PrivateAddresses(StrEnum):
    """Whether hooks may lead to addresses that are not public."""

    ALLOW = "allow"
    REFUSE = "refuse"


async def resolve(host: str, port: int, /) -> Sequence[str]:
    """The addresses of a name, each once, dearest first. Raises OSError, UnicodeError."""
    found = await asyncio.get_running_loop().getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return tuple(dict.fromkeys(str(entry[4][0]) for entry in found))


def is_public(address: str) -> bool:
    """Whether an address belongs to the public internet (IANA's special-purpose registries, as Python knows them).

    An address that carries another one inside is public only if both are. Raises ValueError if it is no address.
    """
    parsed = ip_address(address.partition("%")[0])
    if isinstance(parsed, IPv6Address):
        inner = parsed.ipv4_mapped or parsed.sixtofour or (parsed.teredo[1] if parsed.teredo else None)
        if inner is not None and not is_public(str(inner)):
            return False
        if parsed in NAT64:
            return is_public(str(ip_address(int(parsed) & 0xFFFFFFFF)))
    return parsed.is_global and not parsed.is_multicast


def is_private_literal(host: str) -> bool:
    """Whether a host is written as an address that is not public; a name is not."""
    try:
        return not is_public(host.removeprefix("[").removesuffix("]"))
    except ValueError:
        return False
