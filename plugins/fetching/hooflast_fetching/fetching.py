"""Fetching: one page over HTTP, conditional on what is known already, bounded in size and time, tried again at need."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from enum import StrEnum
from typing import Final

import httpcore
import httpx
from pydantic import BaseModel, ConfigDict, Field
from tenacity import RetryCallState, Retrying, retry_if_exception, stop_after_attempt, wait_random_exponential

from hooflast_fetching.public_only import AddressRefused, CheckedTransport, PublicOnly

TRIED_AGAIN: Final = frozenset({429, 502, 503, 504})
MOST_REDIRECTS: Final = 5
LONGEST_WAIT: Final = 30.0


class FetchSettings(BaseModel):
    """How pages are fetched."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    allow_private: bool = Field(default=False, description="Whether addresses that are not public may be fetched from.")
    seconds: float = Field(10.0, gt=0, le=60, description="How long one try may take between two bytes.")
    tries: int = Field(3, ge=1, le=10, description="How often a page is tried.")
    most_bytes: int = Field(4_000_000, gt=0, le=50_000_000, description="How large a page may be, unpacked.")
    headers: dict[str, str] = Field(default={}, description="Headers to send, such as an authorization.")


class Fault(StrEnum):
    """Why a page was not to be had."""

    ADDRESS = "address"
    STATUS = "status"
    LINE = "line"
    SIZE = "size"


class FetchFailed(Exception):
    """A page that was not to be had, and why."""

    def __init__(self, url: str, *, fault: Fault, why: str) -> None:
        super().__init__(f"{url}: {why}")
        self.url, self.fault, self.why = url, fault, why


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page: where it was in the end, its bytes, its media type, its links, and the version to know it by."""

    url: str
    content: bytes
    media_type: str
    next_url: str | None
    version: str


def fetch(
    url: str, *, settings: FetchSettings, known_as: str, transport: httpx.BaseTransport | None = None
) -> Page | None:
    """A page, or None if it is still what `known_as` names. Raises FetchFailed.

    Redirects are followed as far as MOST_REDIRECTS, never from https to http, and the headers of the settings are sent
    to the first host only.
    """
    carried = transport or CheckedTransport(httpcore.SyncBackend() if settings.allow_private else PublicOnly())
    tried = Retrying(
        retry=retry_if_exception(_is_passing),
        stop=stop_after_attempt(settings.tries),
        wait=_wait,
        reraise=True,
    )
    with httpx.Client(transport=carried, timeout=settings.seconds, follow_redirects=False, trust_env=False) as client:
        return tried(_once, client, url, settings=settings, known_as=known_as)


class _PassingError(FetchFailed):
    """A failure that may pass; `after` is how many seconds its sender asks to wait."""

    after: float | None = None


def _is_passing(error: BaseException) -> bool:
    return isinstance(error, _PassingError)


_backoff = wait_random_exponential(multiplier=0.5, max=LONGEST_WAIT)


def _wait(state: RetryCallState) -> float:
    error = state.outcome.exception() if state.outcome else None
    after = error.after if isinstance(error, _PassingError) else None
    return min(after, LONGEST_WAIT) if after is not None else _backoff(state)


def _once(client: httpx.Client, url: str, *, settings: FetchSettings, known_as: str) -> Page | None:
    asked, headers = httpx.URL(url), {**settings.headers, **_conditions(known_as)}
    if asked.scheme not in ("http", "https") or not asked.host:
        raise FetchFailed(url, fault=Fault.ADDRESS, why="it is no address of http or https")
    for _ in range(MOST_REDIRECTS + 1):
        try:
            with client.stream("GET", asked, headers=headers) as response:
                if not response.has_redirect_location:
                    return _page(response, settings=settings, known_as=known_as)
                there = asked.join(response.headers["location"])
        except AddressRefused as error:
            raise FetchFailed(url, fault=Fault.ADDRESS, why=str(error)) from None
        except (httpx.TransportError, httpx.DecodingError, OSError) as error:
            why = str(error) or type(error).__name__
            raise _PassingError(url, fault=Fault.LINE, why=why) from None
        if there.scheme not in ("http", "https") or (asked.scheme, there.scheme) == ("https", "http"):
            raise FetchFailed(url, fault=Fault.ADDRESS, why=f"it leads on to {there}")
        if (there.scheme, there.host, there.port) != (asked.scheme, asked.host, asked.port):
            headers = _conditions(known_as)
        asked = there
    raise FetchFailed(url, fault=Fault.STATUS, why=f"it leads on more than {MOST_REDIRECTS} times")


def _page(response: httpx.Response, *, settings: FetchSettings, known_as: str) -> Page | None:
    url, status = str(response.url), response.status_code
    if status == 304 and known_as:
        return None
    if status in TRIED_AGAIN:
        error = _PassingError(url, fault=Fault.STATUS, why=f"it answers {status}")
        error.after = _seconds(response.headers.get("retry-after"))
        raise error
    if status != 200:
        raise FetchFailed(url, fault=Fault.STATUS, why=f"it answers {status}")
    content = bytearray()
    for chunk in response.iter_bytes():
        content += chunk
        if len(content) > settings.most_bytes:
            raise FetchFailed(url, fault=Fault.SIZE, why=f"it has more than {settings.most_bytes} bytes")
    following = response.links.get("next", {}).get("url")
    return Page(
        url=url,
        content=bytes(content),
        media_type=response.headers.get("content-type", "").partition(";")[0].strip().lower(),
        next_url=None if following is None else str(response.url.join(following)),
        version=_version(response),
    )


def _version(response: httpx.Response) -> str:
    """What a page can be known by (RFC 9110, section 8.8), as text; empty where it can be known by nothing."""
    known = {name: response.headers[name] for name in ("etag", "last-modified") if name in response.headers}
    return json.dumps(known, sort_keys=True) if known else ""


def _conditions(known_as: str) -> dict[str, str]:
    """The headers that ask for a page only if it is another than the one known (RFC 9110, section 13.1)."""
    if not known_as:
        return {}
    known = json.loads(known_as)
    if "etag" in known:
        return {"If-None-Match": known["etag"]}
    return {"If-Modified-Since": known["last-modified"]}


def _seconds(retry_after: str | None) -> float | None:
    """What a `Retry-After` asks for, in seconds from now (RFC 9110, section 10.2.3)."""
    if retry_after is None:
        return None
    if retry_after.isdecimal():
        return float(retry_after)
    try:
        return max(0.0, (parsedate_to_datetime(retry_after) - datetime.now(UTC)).total_seconds())
    except (TypeError, ValueError):
        return None
