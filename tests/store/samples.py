"""Samples: answers to keep, as tests of the store need them, and the strategies they are drawn from."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Final

from hypothesis import strategies as st

from hooflast.catalog.values import ReleaseId
from hooflast.store import KeptAnswer, Sent, TenantId, new_id
from hooflast.store.audit import Actor

NOW: Final = datetime(2026, 5, 4, 7, 30, 15, 123456, tzinfo=UTC)
SHOP: Final = TenantId("tarn-and-tether")
CLINIC: Final = TenantId("mossgate")
SOMEBODY: Final = Actor(who="user:juniper", at=NOW, request_id="0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11")

payloads = st.binary(max_size=2000)
zones = st.integers(min_value=-14 * 60, max_value=14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
moments = st.datetimes(min_value=datetime(2000, 1, 1), max_value=datetime(2100, 1, 1), timezones=zones)  # noqa: DTZ001
words = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30)


def an_answer(*, tenant: TenantId = SHOP, signing_key: str, answer: bytes = b'{"hooves":[]}') -> KeptAnswer:
    return KeptAnswer(
        id=new_id(),
        tenant=tenant,
        created_at=NOW,
        catalog_release=ReleaseId("sha256-00"),
        engine="0.1.0",
        calibration="none",
        question=b'{"horse":"Bramble"}',
        answer=Sent.of(b"}", head=answer),
        signing_key=signing_key,
    )
