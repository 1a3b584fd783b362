"""Issuing: a key as it is wished for, or every reason why not at once."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.access.samples import FIXED, KEY_ID, NOW, SHOP_PAGES, issued, issued_for_pages

from hooflast.access.issuing import LARGEST_LIMIT, LONGEST_NAME
from hooflast.access.key import ALL_SCOPES, BROWSER_SCOPES, KeyKind, KeyLimits, KeyMode, Scope, rows_of
from hooflast.access.secret import read_key
from hooflast.errors import InputRefused

some_scopes = st.frozensets(st.sampled_from(Scope))


def faults_of(**wishes: Any) -> list[tuple[tuple[str | int, ...], str]]:
    with pytest.raises(InputRefused) as refused:
        issued(**wishes)
    return [(fault.path, fault.code) for fault in refused.value.faults]


def test_what_is_shown_is_accepted_and_only_its_digest_is_kept() -> None:
    made = issued()
    presented = read_key(made.written)
    assert presented.key_id == made.key.id == KEY_ID
    assert made.key.is_shown_by(presented, now=NOW)
    assert [len(secret.digest) for secret in made.key.secrets] == [32]
    assert made.written not in repr(made)
    assert made.key.secrets[0].digest.hex() not in repr(made.key)
    assert repr(made.key.secrets[0].digest) not in repr(made.key)


@given(scopes=some_scopes)
def test_a_servers_key_may_do_what_is_wished_for_or_all(scopes: frozenset[Scope]) -> None:
    assert issued(scopes=scopes).key.scopes == (scopes or ALL_SCOPES - {Scope.OPERATE})


@given(scopes=some_scopes)
def test_a_key_in_a_page_may_never_do_more_than_match_and_read(scopes: frozenset[Scope]) -> None:
    if scopes <= BROWSER_SCOPES:
        assert issued_for_pages(scopes=scopes).key.scopes == (scopes or BROWSER_SCOPES)
    else:
        wish: dict[str, Any] = {"kind": KeyKind.BROWSER, "origins": (SHOP_PAGES,), "scopes": scopes}
        assert faults_of(**wish) == [(("scopes",), "key-scopes")]


@given(mode=st.sampled_from(KeyMode), client=st.from_regex(r"[a-z0-9][a-z0-9-]{0,62}", fullmatch=True))
def test_a_test_key_reaches_rows_of_its_own_and_no_clients(mode: KeyMode, client: str) -> None:
    key = issued(client=client, mode=mode).key
    assert key.tenant == rows_of(client, mode=mode)
    assert (key.tenant == client) == (mode is KeyMode.LIVE)
    assert key.fixed == (FIXED if mode is KeyMode.TEST else None)
    if mode is KeyMode.TEST:
        assert "client-name" in {code for _, code in faults_of(client=key.tenant)}


def test_the_same_origin_written_twice_is_one() -> None:
    key = issued_for_pages(origins=(SHOP_PAGES, SHOP_PAGES.upper(), f"{SHOP_PAGES}:443")).key
    assert key.origins == (SHOP_PAGES,)


def test_everything_wrong_is_told_at_once() -> None:
    assert faults_of(
        client="Tarn & Tether",
        name=" ",
        kind=KeyKind.BROWSER,
        origins=("null", SHOP_PAGES, "http://tarn-and-tether.example"),
        scopes=frozenset({Scope.READ, Scope.ERASE, Scope.HOOKS}),
        limits=KeyLimits(per_minute=0, per_day=LARGEST_LIMIT + 1, per_visitor_minute=-1),
        expires_at=NOW,
    ) == [
        (("client",), "client-name"),
        (("name",), "key-name"),
        (("origins", 0), "not-an-origin"),
        (("origins", 2), "not-an-origin"),
        (("scopes",), "key-scopes"),
        (("per_minute",), "key-limit"),
        (("per_day",), "key-limit"),
        (("per_visitor_minute",), "key-limit"),
        (("expires_at",), "key-expired-before"),
    ]


@pytest.mark.parametrize(
    ("wishes", "fault"),
    [
        ({"client": "a" * 64}, (("client",), "client-name")),
        ({"client": "mossgate/test"}, (("client",), "client-name")),
        ({"client": ""}, (("client",), "client-name")),
        ({"name": "x" * (LONGEST_NAME + 1)}, (("name",), "key-name")),
        ({"kind": KeyKind.BROWSER}, (("origins",), "browser-key-without-origin")),
        ({"origins": (SHOP_PAGES,)}, (("origins",), "server-key-with-origin")),
        ({"expires_at": NOW - timedelta(days=1)}, (("expires_at",), "key-expired-before")),
    ],
)
def test_a_wish_that_cannot_be_met_is_refused(wishes: dict[str, Any], fault: Any) -> None:
    assert faults_of(**wishes) == [fault]


def test_the_bounds_are_met() -> None:
    most = KeyLimits(per_minute=LARGEST_LIMIT, per_day=1, per_visitor_minute=1)
    key = issued(client="a" * 63, name="x" * LONGEST_NAME, limits=most, expires_at=NOW + timedelta(seconds=1)).key
    assert key.limits == most
