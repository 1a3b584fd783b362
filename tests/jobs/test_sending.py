"""One attempt reaches the address that was looked at, follows nobody elsewhere, and comes to an end."""

import asyncio
import json
import socket
from collections.abc import Sequence

import pytest
from tests.jobs.receivers import NEVER, answer, receiving
from tests.store.samples import NOW

from hooflast.jobs.addresses import PrivateAddresses
from hooflast.jobs.sending import Attempt, Sender
from hooflast.store.hook_values import Failure

pytestmark = pytest.mark.anyio
HEADERS = {"webhook-id": "evt_1", "webhook-timestamp": "1", "webhook-signature": "v1,AA=="}
OK = answer(204)


async def send(url: str, *, sender: Sender) -> Attempt:
    return await sender.send(b'{"type":"hook.test"}', url=url, headers=HEADERS, now=NOW)


async def test_a_message_is_posted_as_it_was_signed(sender: Sender) -> None:
    async with receiving(OK) as receiver:
        assert await send(receiver.url + "?for=sable", sender=sender) == Attempt(status=204)
    (received,) = receiver.received
    assert (received.path, received.body) == ("/told?for=sable", b'{"type":"hook.test"}')
    assert HEADERS.items() <= received.headers.items()
    assert received.headers["content-type"] == "application/json"
    assert received.headers["host"] == f"127.0.0.1:{receiver.port}"


@pytest.mark.parametrize("status", [200, 201, 202, 299])
async def test_any_2xx_is_success(sender: Sender, status: int) -> None:
    async with receiving(answer(status)) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(status=status)


@pytest.mark.parametrize("status", [304, 400, 404, 410, 429, 500, 503])
async def test_any_other_status_is_a_failure(sender: Sender, status: int) -> None:
    async with receiving(answer(status)) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(status=status, failure=Failure.STATUS)


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
async def test_a_redirect_is_not_followed(sender: Sender, status: int) -> None:
    async with receiving(OK) as other, receiving(answer(status, location=other.url)) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(status=status, failure=Failure.STATUS)
    assert other.received == []


async def test_what_the_receiver_asks_to_wait_is_read(sender: Sender) -> None:
    async with receiving(answer(503, retry_after="120")) as receiver:
        attempt = await send(receiver.url, sender=sender)
    assert attempt.retry_after is not None
    assert attempt.retry_after.total_seconds() == 120


async def test_who_does_not_answer_in_time_has_not_been_told(anyio_backend: str) -> None:
    async with Sender(private=PrivateAddresses.ALLOW, seconds=0.1) as sender, receiving(NEVER) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(failure=Failure.TOO_SLOW)


async def test_an_answer_without_end_is_not_read(sender: Sender) -> None:
    endless = b"HTTP/1.1 200 OK\r\ncontent-length: 999999999\r\n\r\n" + b"hay" * 1000
    async with receiving(endless) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(status=200)


@pytest.mark.parametrize("said", [b"no HTTP at all\r\n\r\n", b"HTTP/1.1 200"])
async def test_what_is_no_answer_is_a_failure(sender: Sender, said: bytes) -> None:
    async with receiving(said) as receiver:
        assert await send(receiver.url, sender=sender) == Attempt(failure=Failure.NO_CONNECTION)


async def test_a_door_that_is_shut_is_a_failure(sender: Sender) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: every connection is refused
        url = f"http://127.0.0.1:{taken.getsockname()[1]}/told"
        assert await send(url, sender=sender) == Attempt(failure=Failure.NO_CONNECTION)


async def test_a_name_that_nobody_has_is_a_failure(anyio_backend: str) -> None:
    async def nowhere(host: str, port: int, /) -> Sequence[str]:
        raise OSError(host)

    async def to_nothing(host: str, port: int, /) -> Sequence[str]:
        return ()

    for resolve in (nowhere, to_nothing):
        async with Sender(private=PrivateAddresses.ALLOW, resolve=resolve) as sender:
            assert await send("http://harrowmere.example/", sender=sender) == Attempt(failure=Failure.NAME_UNKNOWN)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "127.1", "2130706433", "0x7f000001", "0"])
async def test_whatever_leads_to_this_machine_is_refused_before_a_connection(anyio_backend: str, host: str) -> None:
    async with Sender(private=PrivateAddresses.REFUSE) as sender, receiving(OK) as receiver:
        attempt = await send(f"http://{host}:{receiver.port}/told", sender=sender)
        assert attempt == Attempt(failure=Failure.ADDRESS_REFUSED)
    assert receiver.received == []


async def test_one_private_address_among_those_of_a_name_is_enough_to_refuse_it(anyio_backend: str) -> None:
    async def both(host: str, port: int, /) -> Sequence[str]:
        return ("8.8.8.8", "10.0.0.1")

    async with Sender(private=PrivateAddresses.REFUSE, resolve=both) as sender:
        assert await send("http://harrowmere.example/", sender=sender) == Attempt(failure=Failure.ADDRESS_REFUSED)


async def test_a_name_is_resolved_once_and_what_was_looked_at_is_connected_to(anyio_backend: str) -> None:
    """A name that leads elsewhere the second time leads nobody anywhere."""
    asked: list[tuple[str, int]] = []

    async def rebinding(host: str, port: int, /) -> Sequence[str]:
        asked.append((host, port))
        return ("127.0.0.1",) if len(asked) == 1 else ("203.0.113.9",)

    async with Sender(private=PrivateAddresses.ALLOW, resolve=rebinding) as sender, receiving(OK) as receiver:
        url = f"http://harrowmere.example:{receiver.port}/told"
        assert await send(url, sender=sender) == Attempt(status=204)
    assert asked == [("harrowmere.example", receiver.port)]
    assert receiver.received[0].headers["host"] == f"harrowmere.example:{receiver.port}"


async def test_where_one_address_does_not_answer_the_next_is_tried(anyio_backend: str) -> None:
    async def two(host: str, port: int, /) -> Sequence[str]:
        return ("127.0.0.2", "127.0.0.1")

    async with Sender(private=PrivateAddresses.ALLOW, resolve=two) as sender, receiving(OK) as receiver:
        assert await send(f"http://harrowmere.example:{receiver.port}/", sender=sender) == Attempt(status=204)
    assert len(receiver.received) == 1


async def test_a_connection_is_not_kept_for_another_name(anyio_backend: str) -> None:
    async def here(host: str, port: int, /) -> Sequence[str]:
        return ("127.0.0.1",)

    kept = b"HTTP/1.1 200 OK\r\ncontent-length: 0\r\nconnection: keep-alive\r\n\r\n"
    async with Sender(private=PrivateAddresses.ALLOW, resolve=here) as sender, receiving(kept) as receiver:
        for name in ("vellory.example", "ombrick.example"):
            await send(f"http://{name}:{receiver.port}/", sender=sender)
    assert [one.headers["host"].partition(":")[0] for one in receiver.received] == [
        "vellory.example",
        "ombrick.example",
    ]


async def test_attempts_go_on_side_by_side(sender: Sender) -> None:
    async with receiving(OK) as receiver:
        attempts = await asyncio.gather(*(send(receiver.url, sender=sender) for _ in range(20)))
    assert attempts == [Attempt(status=204)] * 20
    assert {json.loads(one.body)["type"] for one in receiver.received} == {"hook.test"}
