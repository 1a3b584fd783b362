"""Origin: where a web page comes from, as browsers tell it (RFC 6454, section 6.2)."""

import re
from ipaddress import AddressValueError, IPv6Address
from typing import Final

_ORIGIN: Final = re.compile(
    r"(?P<scheme>https?)://(?P<host>\[[0-9a-f:.]{2,45}\]|[a-z0-9](?:[a-z0-9.-]{0,251}[a-z0-9])?)"
    r"(?::(?P<port>[0-9]{1,5}))?"
)
_OWN_MACHINE: Final = frozenset({"localhost", "127.0.0.1", "[::1]"})
_USUAL_PORT: Final = {"https": 443, "http": 80}


def read_origin(written: str) -> str:
    """An origin as browsers write it. Raises ValueError.

    Pages are to come by https; by http only from the own machine, where a shop's page is being built.
    """
    found = _ORIGIN.fullmatch(written.strip().lower())
    if found is None:
        raise ValueError(written)
    host = _host(found["host"])
    if found["scheme"] == "http" and host not in _OWN_MACHINE:
        raise ValueError(written)
    bare = f"{found['scheme']}://{host}"
    if found["port"] is None or int(found["port"]) == _USUAL_PORT[found["scheme"]]:
        return bare
    if not 1 <= int(found["port"]) <= 65535:
        raise ValueError(written)
    return f"{bare}:{int(found['port'])}"


def _host(written: str) -> str:
    """A host as browsers write it: an address of IPv6 as short as can be."""
    if not written.startswith("["):
        return written
    try:
        return f"[{IPv6Address(written[1:-1]).compressed}]"
    except AddressValueError:
        raise ValueError(written) from None
