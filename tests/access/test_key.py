"""Keys: when, from where and for what each lets in, and that none can be made that may do too much."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.access.samples import FIXED, KEY_ID, NOW, SHOP_PAGES, issued, issued_for_pages

from hooflast.access.errors import KeyExpired, KeyRevoked, OriginRefused, ScopeMissing, ServerKeyInBrowser
from hooflast.access.key import KeptSecret, KeyKind, KeyMode, KeyState, Scope
from hooflast.access.secret import digest_of, new_secret, read_key, write_key

OLD, NEW = new_secret(), new_secret()
A_DAY = timedelta(days=1)
around_now = st.timedeltas(min_value=-A_DAY, max_value=A_DAY)


@given(asked=around_now)
def test_a_key_lets_in_until_it_expires_and_not_in_that_moment(asked: timedelta) -> None:
    key = replace(issued().key, expires_at=NOW)
    if asked < timedelta():
        key.require_valid(NOW + asked)
        assert key.state(NOW + asked) is KeyState.VALID
    else:
        with pytest.raises(KeyExpired):
            key.require_valid(NOW + asked)
        assert key.state(NOW + asked) is KeyState.EXPIRED


@given(asked=around_now)
def test_a_revoked_key_never_lets_in(asked: timedelta) -> None:
    key = replace(issued().key, revoked_at=NOW, expires_at=NOW)
    with pytest.raises(KeyRevoked):
        key.require_valid(NOW + asked)
    assert key.state(NOW + asked) is KeyState.REVOKED


@given(asked=around_now)
def test_the_secret_before_is_accepted_for_a_while_and_the_new_one_from_the_start(asked: timedelta) -> None:
    rotated = (KeptSecret(digest=digest_of(NEW)), KeptSecret(digest=digest_of(OLD), until=NOW))
    key = replace(issued().key, secrets=rotated)
    assert key.is_shown_by(read_key(write_key(KEY_ID, secret=NEW)), now=NOW + asked)
    assert key.is_shown_by(read_key(write_key(KEY_ID, secret=OLD)), now=NOW + asked) == (asked < timedelta())
    assert not key.is_shown_by(read_key(write_key(KEY_ID, secret=new_secret())), now=NOW + asked)


@pytest.mark.parametrize(
    "origin",
    [
        None, "", "null", "https://other.example", f"{SHOP_PAGES}/", SHOP_PAGES.upper(), f"{SHOP_PAGES}.evil.example",
        f"{SHOP_PAGES}:8443", SHOP_PAGES.replace("https", "http"), f"{SHOP_PAGES} {SHOP_PAGES}",
        "https://www.tarn-and-tether.example",
    ],
)  # fmt: skip
def test_a_browser_key_is_for_pages_of_its_origins_alone(origin: str | None) -> None:
    key = issued_for_pages(origins=(SHOP_PAGES, "http://localhost:5173")).key
    key.require_origin(SHOP_PAGES)
    key.require_origin("http://localhost:5173")
    with pytest.raises(OriginRefused) as refused:
        key.require_origin(origin)
    assert SHOP_PAGES in refused.value.accepted


@pytest.mark.parametrize("origin", ["null", SHOP_PAGES, ""])
def test_a_servers_key_is_for_no_page(origin: str) -> None:
    issued().key.require_origin(None)
    with pytest.raises(ServerKeyInBrowser):
        issued().key.require_origin(origin)


@given(held=st.frozensets(st.sampled_from(Scope), min_size=1), needed=st.sampled_from(Scope))
def test_a_key_may_do_what_its_scopes_say_and_nothing_else(held: frozenset[Scope], needed: Scope) -> None:
    key = replace(issued().key, scopes=held)
    if needed in held:
        key.require_scope(needed)
    else:
        with pytest.raises(ScopeMissing) as refused:
            key.require_scope(needed)
        assert refused.value.needed == needed


@pytest.mark.parametrize(
    "wrong",
    [
        {"origins": (SHOP_PAGES,)},
        {"kind": KeyKind.BROWSER},
        {"kind": KeyKind.BROWSER, "origins": (SHOP_PAGES,)},
        {"scopes": frozenset()},
        {"mode": KeyMode.TEST},
        {"fixed": FIXED},
    ],
)
def test_no_key_can_be_made_that_breaks_the_rules(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="key"):
        replace(issued().key, **wrong)


def test_what_each_key_is_counted_by() -> None:
    server, page, trial = issued().key, issued_for_pages().key, issued(mode=KeyMode.TEST).key
    assert [limit.name for limit in server.counted_by()] == [limit.name for limit in page.counted_by()]
    assert [limit.name for limit in server.counted_by()] == ["minute", "day"]
    assert [limit.name for limit in trial.counted_by()] == ["minute"]
    assert [limit.name for limit in page.counted_by_visitor()] == ["visitor"]
    assert list(server.counted_by_visitor()) == []
