"""Fetching: conditional, bounded, tried again, and never from an address that is not public."""

import gzip
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast_fetching import Fault, FetchFailed, FetchSettings, Page, fetch
from hooflast_fetching.public_only import AddressRefused, is_public, public_address

URL = "https://quendle.example/boots.json"
Answer = Callable[[httpx.Request], httpx.Response]


@pytest.fixture(autouse=True)
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """What is waited between tries, which nobody waits here."""
    waited: list[float] = []
    monkeypatch.setattr("tenacity.nap.time.sleep", waited.append)
    return waited


def get(answer: Answer, *, known_as: str = "", url: str = URL, **settings: object) -> Page | None:
    return fetch(url, settings=FetchSettings(**settings), known_as=known_as, transport=httpx.MockTransport(answer))


def failure(answer: Answer, **settings: object) -> FetchFailed:
    with pytest.raises(FetchFailed) as caught:
        get(answer, **settings)
    return caught.value


def test_a_page_comes_with_its_type_its_links_and_its_version() -> None:
    headers = {"Content-Type": "application/json; charset=utf-8", "ETag": '"a"', "Link": '</two>; rel="next"'}
    page = get(lambda _: httpx.Response(200, headers=headers, content=b"{}"))
    assert page is not None
    assert (page.content, page.media_type, page.next_url) == (b"{}", "application/json", "https://quendle.example/two")
    assert page.version


@pytest.mark.parametrize(
    ("given_as", "asked_as"),
    [
        ({"ETag": '"a"', "Last-Modified": "Mon, 04 May 2026 10:00:00 GMT"}, {"if-none-match": '"a"'}),
        (
            {"Last-Modified": "Mon, 04 May 2026 10:00:00 GMT"},
            {"if-modified-since": "Mon, 04 May 2026 10:00:00 GMT"},
        ),
    ],
)
def test_what_is_known_is_asked_for_only_if_it_changed(given_as: dict[str, str], asked_as: dict[str, str]) -> None:
    first = get(lambda _: httpx.Response(200, headers=given_as, content=b"{}"))
    assert first is not None
    asked: list[httpx.Request] = []

    def unchanged(request: httpx.Request) -> httpx.Response:
        asked.append(request)
        return httpx.Response(304)

    assert get(unchanged, known_as=first.version) is None
    assert {name: asked[0].headers[name] for name in asked_as} == asked_as
    assert ("if-none-match" in asked[0].headers) == ("if-none-match" in asked_as)


@pytest.mark.parametrize("status", [429, 502, 503, 504])
def test_what_may_pass_is_tried_again_and_again_but_not_for_ever(status: int, waits: list[float]) -> None:
    answers = iter([httpx.Response(status), httpx.Response(status), httpx.Response(200, content=b"1")])
    page = get(lambda _: next(answers))
    assert page is not None
    assert len(waits) == 2
    asked: list[int] = []

    def never(_: httpx.Request) -> httpx.Response:
        asked.append(1)
        return httpx.Response(status)

    assert failure(never, tries=4).fault is Fault.STATUS
    assert len(asked) == 4


def test_a_sender_that_says_when_is_waited_for(waits: list[float]) -> None:
    answers = iter([httpx.Response(429, headers={"Retry-After": "7"}), httpx.Response(200, content=b"1")])
    get(lambda _: next(answers))
    assert waits == [7.0]


@pytest.mark.parametrize("status", [400, 401, 403, 404, 410, 500])
def test_what_will_not_pass_is_told_at_once(status: int, waits: list[float]) -> None:
    assert str(status) in failure(lambda _: httpx.Response(status)).why
    assert waits == []


def test_a_line_that_breaks_is_tried_again() -> None:
    answers: Iterator[object] = iter([httpx.ReadError("gone"), httpx.Response(200, content=b"1")])

    def answer(_: httpx.Request) -> httpx.Response:
        found = next(answers)
        if isinstance(found, Exception):
            raise found
        assert isinstance(found, httpx.Response)
        return found

    assert get(answer) is not None


def test_a_page_that_unpacks_to_too_much_is_refused() -> None:
    packed = gzip.compress(b" " * 1_000_000)
    assert len(packed) < 10_000
    bomb = httpx.Response(200, headers={"Content-Encoding": "gzip"}, content=packed)
    assert failure(lambda _: bomb, most_bytes=100_000).fault is Fault.SIZE


def test_redirects_are_followed_without_carrying_secrets_to_another_host() -> None:
    asked: list[httpx.Request] = []

    def answer(request: httpx.Request) -> httpx.Response:
        asked.append(request)
        if request.url.host == "quendle.example":
            return httpx.Response(302, headers={"Location": "https://elsewhere.example/"})
        return httpx.Response(200, content=b"1")

    page = get(answer, headers={"Authorization": "Bearer oats"})
    assert page is not None
    assert page.url == "https://elsewhere.example/"
    assert [request.headers.get("authorization") for request in asked] == ["Bearer oats", None]


@pytest.mark.parametrize("there", ["http://quendle.example/", "file:///etc/passwd", "ftp://quendle.example/"])
def test_a_redirect_to_a_weaker_scheme_is_refused(there: str) -> None:
    assert failure(lambda _: httpx.Response(302, headers={"Location": there})).fault is Fault.ADDRESS


def test_redirects_in_a_ring_end() -> None:
    assert "more than" in failure(lambda request: httpx.Response(302, headers={"Location": str(request.url)})).why


@pytest.mark.parametrize("url", ["file:///etc/passwd", "boots.json", "gopher://x"])
def test_what_is_no_address_of_the_web_is_refused(url: str) -> None:
    with pytest.raises(FetchFailed) as caught:
        get(lambda _: httpx.Response(200), url=url)
    assert caught.value.fault is Fault.ADDRESS


@pytest.mark.parametrize(
    "address",
    [
        "127.0.0.1", "10.0.0.1", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0", "224.0.0.1",
        "::ffff:224.0.0.1",
        "::1", "fe80::1", "fe80::1%eth0", "fc00::1", "::ffff:10.0.0.1", "64:ff9b::a00:1", "2002:a00:1::", "ff02::1",
    ],
)  # fmt: skip
def test_addresses_of_private_networks_are_not_public(address: str) -> None:
    assert not is_public(address)


@pytest.mark.parametrize("address", ["93.184.215.14", "2606:2800:21f:cb07:6820:80da:af6b:8b2c", "64:ff9b::5db8:d70e"])
def test_addresses_of_the_internet_are_public(address: str) -> None:
    assert is_public(address)


@given(st.ip_addresses(v=4, network="10.0.0.0/8") | st.ip_addresses(v=6, network="fc00::/7"))
def test_no_address_of_a_private_network_is_public(address: object) -> None:
    assert not is_public(str(address))


def test_a_name_that_leads_to_this_machine_is_refused_and_only_the_settings_let_it_through() -> None:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", "2")
            self.end_headers()
            self.wfile.write(b"{}")

        def log_message(self, *_: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        url = f"http://localhost:{server.server_port}/"
        with pytest.raises(FetchFailed, match="not a public address") as caught:
            fetch(url, settings=FetchSettings(), known_as="")
        page = fetch(url, settings=FetchSettings(allow_private=True), known_as="")
        server.shutdown()
    assert caught.value.fault is Fault.ADDRESS
    assert page is not None
    assert page.content == b"{}"


def test_a_name_with_one_private_address_among_others_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    found = [(2, 1, 6, "", (address, 443)) for address in ("93.184.215.14", "10.0.0.1")]
    monkeypatch.setattr("socket.getaddrinfo", lambda *_args, **_named: found)
    with pytest.raises(AddressRefused):
        public_address("quendle.example", port=443)
