"""Visitor: whom the requests of a browser key are counted for, where every visitor of a page shows the same key."""

from hashlib import blake2b
from ipaddress import IPv6Address, ip_address

UNKNOWN = "unknown"


def visitor_of(address: str, *, key_id: str) -> str:
    """A name for whoever asks from an address: the same for the whole of a network of one household.

    A household is given a /64 of IPv6 (RFC 6177), and could else be as many visitors as it likes. The name is a digest
    that differs from key to key, so that counts do not tell who visits several shops; it is not kept beyond them.
    """
    try:
        read = ip_address(address)
    except ValueError:
        return UNKNOWN
    if isinstance(read, IPv6Address) and read.ipv4_mapped is not None:
        read = read.ipv4_mapped
    network = read.packed[:8] if isinstance(read, IPv6Address) else read.packed
    return blake2b(network, key=key_id.encode("ascii"), digest_size=12).hexdigest()
