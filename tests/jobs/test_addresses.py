"""Hooks lead to the public internet, whatever an address is dressed up as."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.jobs.addresses import is_private_literal, is_public, resolve

PRIVATE = (
    "127.0.0.1", "127.8.8.8", "10.0.0.1", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0",
    "224.0.0.1", "255.255.255.255", "::1", "::", "fe80::1", "fe80::1%eth0", "fc00::1", "ff02::1",
    "::ffff:127.0.0.1", "::ffff:10.0.0.1", "2002:7f00:1::", "64:ff9b::7f00:1", "64:ff9b::a9fe:a9fe",
)  # fmt: skip
PUBLIC = ("8.8.8.8", "1.1.1.1", "2606:4700:4700::1111", "64:ff9b::808:808")


@pytest.mark.parametrize("address", PRIVATE)
def test_what_only_this_machine_or_its_network_reaches_is_not_public(address: str) -> None:
    assert not is_public(address)


@pytest.mark.parametrize("address", PUBLIC)
def test_what_everybody_reaches_is_public(address: str) -> None:
    assert is_public(address)


@given(inner=st.ip_addresses(v=4))
def test_an_address_inside_another_is_no_way_round(inner: object) -> None:
    if not is_public(str(inner)):
        assert not is_public(f"::ffff:{inner}")


@pytest.mark.parametrize("host", ["127.0.0.1", "[::1]", "::1", "169.254.169.254"])
def test_a_literal_is_known_for_what_it_is(host: str) -> None:
    assert is_private_literal(host)


@pytest.mark.parametrize("host", ["harrowmere.example", "8.8.8.8", "localhost", ""])
def test_a_name_is_not_judged_before_it_is_looked_up(host: str) -> None:
    assert not is_private_literal(host)


@pytest.mark.anyio
async def test_a_name_leads_to_each_address_once() -> None:
    found = await resolve("localhost", 80)
    assert found
    assert len(set(found)) == len(found)
    assert not any(map(is_public, found))
