"""Limits over all workers of a real service, and whose `X-Forwarded-For` it believes."""

import json
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from tests.api.keys import PLENTY, Made, made, made_for_pages
from tests.api.processes import Served, served, whole_answer
from tests.databases import complete

from hooflast.access.key import KeyLimits
from hooflast.api.server import prepare
from hooflast.settings import Access, LogFormat, Settings

pytestmark = pytest.mark.full


def settings_for(url: str, **changes: object) -> Settings:
    wished = {"database_url": url, "port": 0, "log_format": LogFormat.JSON, "access": Access.KEYS}
    return Settings(**(wished | changes))  # type: ignore[arg-type]


def asked(service: Served, key: Made, **fields: str) -> int:
    """The status of one request, on a connection of its own, so that any worker may take it."""
    headers = {"Host": "hooflast.test", "Connection": "close", **key.shown, **fields}
    head = "".join(f"{name.replace('_', '-')}: {value}\r\n" for name, value in headers.items())
    with service.connect() as connection:
        connection.sendall(f"GET /v1/makers HTTP/1.1\r\n{head}\r\n".encode())
        return whole_answer(connection)[0]


def today() -> date:
    return datetime.now(UTC).date()


def minute() -> int:
    """The minute that the clock shows, counted since long ago."""
    return int(datetime.now(UTC).timestamp()) // 60


def sixty(service: Served, url: str) -> tuple[Made, Counter[int]]:
    """A key for thirty requests a day, and how sixty of them were answered."""
    key = complete(made(url, limits=KeyLimits(per_minute=100_000, per_day=30)))
    return key, Counter(asked(service, key) for _ in range(60))


def test_workers_together_let_through_exactly_what_a_limit_allows(sqlite_url: str, tmp_path: Path) -> None:
    settings = settings_for(sqlite_url, workers=2)
    complete(prepare(settings))
    with served(settings, log=tmp_path / "log") as service:
        day, (key, statuses) = today(), sixty(service, sqlite_url)
        if day != today():  # it ended meanwhile, and the next one does not end so soon
            key, statuses = sixty(service, sqlite_url)
        assert statuses == {200: 30, 429: 30}
        assert asked(service, complete(made(sqlite_url))) == 200
        without = Made(key=key.key, written=key.written[:-1])
        assert asked(service, without) == 401
    written = (tmp_path / "log").read_text("utf-8")
    assert key.written.rpartition("_")[2][:20] not in written
    assert {json.loads(line).get("status") for line in written.splitlines()} >= {200, 401, 429}


@pytest.mark.parametrize("forwarded_by", ["", "198.51.100.7", "127.0.0.1", "10.0.0.0/8,127.0.0.0/8"])
def test_a_visitor_is_told_by_a_proxy_that_is_named_and_by_nobody_else(
    sqlite_url: str, tmp_path: Path, forwarded_by: str
) -> None:
    settings = settings_for(sqlite_url, forwarded_by=forwarded_by)
    complete(prepare(settings))
    is_believed = "127" in forwarded_by
    key = complete(made_for_pages(sqlite_url, limits=PLENTY))
    few = complete(made_for_pages(sqlite_url, limits=KeyLimits(per_minute=100_000, per_visitor_minute=1)))
    page = {"Origin": "https://tarn-and-tether.example"}
    with served(settings, log=tmp_path / "log") as service:
        assert asked(service, key, **page) == 200
        begun = minute()
        let = [asked(service, few, X_Forwarded_For=f"203.0.113.{number}", **page) for number in range(9)]
        through_two = [
            asked(service, few, X_Forwarded_For=f"203.0.113.{number}, 203.0.113.99", **page) for number in range(9)
        ]
        minutes = minute() - begun + 1
    if is_believed:
        assert let == [200] * 9
        assert through_two.count(200) <= minutes, "what a client put before what the proxy saw counts for nothing"
    else:
        assert (let + through_two).count(200) <= minutes, "one in each minute that the clock shows meanwhile"
