"""What is signed verifies with a library that is not ours, and with nothing else."""

from base64 import b64decode
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks import Webhook, WebhookVerificationError

from hooflast.jobs.signing import SECRET_BYTES, signed_headers, written_secret

secrets = st.binary(min_size=24, max_size=64)
ids = st.text("abcdefghijklmnopqrstuvwxyz0123456789_-", min_size=1, max_size=40)
bodies = st.text(st.characters(codec="utf-8"), max_size=200).map(str.encode)


def accepts(secret: bytes, headers: dict[str, str], body: bytes) -> bool:
    try:
        Webhook(written_secret(secret)).verify(body, headers, json_parse=False)
    except (WebhookVerificationError, ValueError):
        return False
    return True


def test_the_reference_librarys_own_example_is_signed_as_it_is_there() -> None:
    """Standard Webhooks, libraries/python/tests/test_webhooks.py."""
    secret = b64decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
    assert written_secret(secret) == "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
    at = datetime.fromtimestamp(1614265330, UTC)
    signed = signed_headers(b'{"test": 2432232314}', message_id="msg_p5jXN8AQM9LWM0D4loKWxJek", at=at, secrets=[secret])
    assert signed == {
        "webhook-id": "msg_p5jXN8AQM9LWM0D4loKWxJek",
        "webhook-timestamp": "1614265330",
        "webhook-signature": "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=",
    }


def test_a_secret_is_as_long_as_the_standard_asks_for() -> None:
    assert 24 <= SECRET_BYTES <= 64


@given(secret=secrets, message_id=ids, body=bodies)
def test_what_is_signed_is_accepted(secret: bytes, message_id: str, body: bytes) -> None:
    assert accepts(secret, signed_headers(body, message_id=message_id, at=datetime.now(UTC), secrets=[secret]), body)


@given(new=secrets, old=secrets, body=bodies)
def test_with_two_secrets_whoever_holds_either_accepts_it(new: bytes, old: bytes, body: bytes) -> None:
    headers = signed_headers(body, message_id="evt_1", at=datetime.now(UTC), secrets=[new, old])
    assert accepts(new, headers, body)
    assert accepts(old, headers, body)
    assert len(headers["webhook-signature"].split(" ")) == 2


@given(secret=secrets, body=bodies, data=st.data())
def test_whatever_is_changed_it_is_refused(secret: bytes, body: bytes, data: st.DataObject) -> None:
    headers = signed_headers(body, message_id="evt_1", at=datetime.now(UTC), secrets=[secret])
    others = {
        "body": lambda: (secret, headers, data.draw(bodies.filter(lambda other: other != body))),
        "id": lambda: (secret, headers | {"webhook-id": data.draw(ids.filter(lambda other: other != "evt_1"))}, body),
        "moment": lambda: (
            secret,
            headers
            | {"webhook-timestamp": str(int(headers["webhook-timestamp"]) + data.draw(st.sampled_from([-60, -1, 1])))},
            body,
        ),
        "secret": lambda: (data.draw(secrets.filter(lambda other: other != secret)), headers, body),
    }
    assert not accepts(*others[data.draw(st.sampled_from(sorted(others)))]())


def test_what_is_sent_again_after_long_is_refused() -> None:
    long_ago = datetime.now(UTC) - timedelta(minutes=10)
    headers = signed_headers(b"{}", message_id="evt_1", at=long_ago, secrets=[b"x" * 24])
    assert not accepts(b"x" * 24, headers, b"{}")


def test_an_id_with_a_full_stop_is_not_signed() -> None:
    with pytest.raises(ValueError, match="full stop"):
        signed_headers(b"{}", message_id="evt.1", at=datetime.now(UTC), secrets=[b"x" * 24])
