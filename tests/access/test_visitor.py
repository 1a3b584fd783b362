"""Visitors: one household is one visitor, two are two, and nobody can be followed from key to key."""

from ipaddress import IPv4Address, IPv6Address

from hypothesis import assume, given
from hypothesis import strategies as st
from tests.access.samples import KEY_ID, key_ids

from hooflast.access.visitor import UNKNOWN, visitor_of

OTHER_KEY = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b12"
networks = st.integers(0, 2**64 - 1)
hosts = st.integers(0, 2**64 - 1)


def at(network: int, host: int) -> IPv6Address:
    return IPv6Address((network << 64) | host)


def name_of(address: object, *, key_id: str = KEY_ID) -> str:
    return visitor_of(str(address), key_id=key_id)


@given(network=networks, one=hosts, other=hosts)
def test_all_addresses_of_one_network_are_one_visitor(network: int, one: int, other: int) -> None:
    assume(at(network, one).ipv4_mapped is None)
    assume(at(network, other).ipv4_mapped is None)
    assert name_of(at(network, one)) == name_of(at(network, other))


@given(one=networks, other=networks, host=hosts)
def test_two_networks_are_two_visitors(one: int, other: int, host: int) -> None:
    assume(one != other)
    assert name_of(at(one, host)) != name_of(at(other, host))


@given(one=st.ip_addresses(v=4), other=st.ip_addresses(v=4))
def test_two_addresses_of_ipv4_are_two_visitors(one: IPv4Address, other: IPv4Address) -> None:
    assert (name_of(one) == name_of(other)) == (one == other)


@given(st.ip_addresses(v=4))
def test_an_address_of_ipv4_is_the_same_visitor_when_it_comes_by_ipv6(address: IPv4Address) -> None:
    assert name_of(f"::ffff:{address}") == name_of(address)


@given(address=st.ip_addresses(v=6), zone=st.sampled_from(["eth0", "1"]))
def test_by_which_interface_it_came_makes_no_other_visitor(address: IPv6Address, zone: str) -> None:
    assume(address.ipv4_mapped is None)
    assert name_of(f"{address}%{zone}") == name_of(address)


@given(address=st.ip_addresses(), other=key_ids)
def test_the_same_visitor_has_another_name_for_another_key(address: object, other: str) -> None:
    assume(other != KEY_ID)
    assert name_of(address) != name_of(address, key_id=other)
    assert str(address) not in name_of(address)


@given(st.text(max_size=40))
def test_all_who_come_from_no_address_are_one_visitor(address: str) -> None:
    known = visitor_of(address, key_id=KEY_ID)
    assert known == UNKNOWN or known == visitor_of(address.strip(), key_id=KEY_ID)
    assert visitor_of(address + "@", key_id=KEY_ID) == UNKNOWN
