"""Samples: keys, wishes for keys, and the strategies they are drawn from."""

import string
from datetime import UTC, date, datetime
from typing import Any, Final

from hypothesis import strategies as st

from hooflast.access.issuing import Issued, KeyWish, issue
from hooflast.access.key import FixedWorld, KeyKind

NOW: Final = datetime(2026, 5, 4, 7, 30, 15, tzinfo=UTC)
KEY_ID: Final = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11"
SHOP_PAGES: Final = "https://tarn-and-tether.example"
FIXED: Final = FixedWorld(catalog_release="sha256-00", day=date(2026, 5, 4))

key_ids = st.uuids().map(str)
secrets = st.text("abcdefghijklmnopqrstuvwxyz234567", min_size=52, max_size=52)
letters = st.sampled_from(string.ascii_letters + string.digits + "_-.~ ")
moments = st.datetimes(min_value=datetime(2000, 1, 1), max_value=datetime(2100, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
limits = st.tuples(st.integers(1, 200), st.sampled_from([1, 60, 86_400]))


def issued(**wishes: Any) -> Issued:
    """A key of the shop, as it is wished for."""
    wish = KeyWish(**({"client": "tarn-and-tether", "name": "The till"} | wishes))
    return issue(wish, key_id=KEY_ID, now=NOW, by="user:juniper", fixed=FIXED)


def issued_for_pages(**wishes: Any) -> Issued:
    """A key of the shop for its pages."""
    return issued(**({"kind": KeyKind.BROWSER, "origins": (SHOP_PAGES,)} | wishes))
