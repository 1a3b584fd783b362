"""The start page: an answer as a person reads it, the form for one's own numbers, and what is never shown."""

import re
from base64 import b64encode
from collections.abc import AsyncIterator
from datetime import timedelta
from hashlib import sha256
from typing import Any
from urllib.parse import urlencode

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.api.html_reading import expect_good_manners, read_page
from tests.api.page_samples import FORM, HOOF, WORLD, answered, hoof_of, said, send
from tests.api.samples import NOW, serving
from tests.api.strategies import bodies

from hooflast.api.pages.demo import BRAMBLE
from hooflast.catalog.library import Library
from hooflast.exchange import read_match_question
from hooflast.store import open_store
from hooflast.texts import load_texts

pytestmark = pytest.mark.anyio

TEXTS = load_texts("en")


@pytest.fixture
async def client(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service over the small world of the matching tests, which has boots for standing horses."""
    async with serving(sqlite_url, library=WORLD) as opened:
        yield opened


async def test_the_demo_horse_is_answered_as_over_the_api(client: httpx.AsyncClient) -> None:
    """The same words and numbers, for every hoof, in the same order."""
    page = read_page((await client.get("/")).text)
    answer = (await client.post("/v1/matches", json=BRAMBLE)).json()
    assert "Bramble" in page.one("h1").text
    assert [node.attributes["id"][5:].upper() for node in page.all("section", kind="hoof")] == [
        hoof["limb"] for hoof in answer["hooves"]
    ]
    for hoof in answer["hooves"]:
        section, fit = hoof_of(page, hoof["limb"]), hoof["boots"][0]
        assert section.one("p", kind="size").text.endswith(fit["best"]["size"])
        assert fit["boot"]["name"] in section.one("p", kind="boot").text
        assert TEXTS.chance(fit["best"]["fit_chance"]) in section.all("p", kind="chance")[0].text
        shown = section.text
        remarks = [*fit["why"], *fit["cautions"], *hoof["cautions"], *hoof["turns"], *fit["watch_for"]]
        assert [one["text"] for one in remarks if one["text"] not in shown] == []
        assert [item.text for item in section.all("ol", kind="order")[0].nodes] == fit["try_order"]
        others = [node.one("span", kind="code").text for node in section.all("details", kind="other")]
        expected = [one["best"]["size"] for one in hoof["boots"][1:]]
        assert others == expected + [one["fit"]["best"]["size"] for one in hoof["alternatives"]]
    everything = said(page)
    for one in [*answer["cautions"], *answer["wearing"], *answer["assumptions"]]:
        assert one["text"] in everything
    assert answer["versions"]["catalog_release"] in everything


async def test_ones_own_numbers_are_answered_as_over_the_api(client: httpx.AsyncClient) -> None:
    page = await answered(
        client,
        unit="in",
        LF__width="4 7/8; 4.9",
        LF__length="5",
        RH__width="4 5/8",
        RH__length="4 7/8",
        RH__states=["flare", "dirty_sole"],
        uses=["hacking", "road"],
        method="calliper",
        horse__name="Wicket",
    )
    question = {
        "unit": "in",
        "hooves": [
            {"limb": "LF", "width": ["4 7/8", "4.9"], "length": "5"},
            {"limb": "RH", "width": "4 5/8", "length": "4 7/8", "states": ["flare", "dirty_sole"]},
        ],
        "uses": ["hacking", "road"],
        "method": "calliper",
        "horse": {"name": "Wicket"},
    }
    answer = (await client.post("/v1/matches", json=question)).json()
    assert page.one("h1").text == "Boots for Wicket"
    for hoof in answer["hooves"]:
        section, fit = hoof_of(page, hoof["limb"]), hoof["boots"][0]
        assert section.one("p", kind="size").text.endswith(fit["best"]["size"])
        for one in [*fit["why"], *fit["cautions"], *hoof["cautions"], *hoof["turns"]]:
            assert one["text"] in section.text
    assert " in wide" in hoof_of(page, "LF").text
    assert " mm" not in hoof_of(page, "LF").text


async def test_the_picture_of_all_hooves_comes_first(client: httpx.AsyncClient) -> None:
    main = read_page((await client.get("/")).text).one("main")
    drawn = [node.attributes["id"] for node in main.all("svg") if "id" in node.attributes]
    assert drawn[0] == "hooves-picture"
    assert {f"sole-{limb}" for limb in ("lf", "rf", "lh", "rh")} <= set(drawn)
    first = next(node for node in main.walk() if node.tag in ("figure", "section", "table"))
    assert first.tag == "figure"


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"unit": "in", "LF.width": "4 7/8", "LF.length": "5 in"},
        {"horse.animal_type": "mini", "LF.width": "99", "LF.length": "101"},
        {"need.founder": "acute"},
        {"need.thin_sole": "chronic", "pad": "4"},
        {"horse.is_foal": "true"},
        {"LF.width": "210", "LF.length": "212", "horse.animal_type": "draft"},
        {"uses": ["soaking"]},
        {"closures": ["cable", "strap"], "horse.girth": "180 cm", "horse.build": "konik", "try_from": "best"},
        {"LF.states": ["flare"], "LF.allowance": "5", "measured_on": "2026-02-01", "weeks_since_trim": "7,5"},
    ],
)
async def test_every_page_has_good_manners(client: httpx.AsyncClient, fields: dict[str, Any]) -> None:
    answer = await client.post(
        "/match", content=urlencode({**HOOF, **fields}, doseq=True), headers={"Content-Type": FORM}
    )
    assert answer.status_code == 200
    expect_good_manners(answer.text)
    assert "{" not in said(read_page(answer.text))


@pytest.mark.parametrize("address", ["/", "/match", "/troubleshooting", "/docs/start", "/docs/operate"])
async def test_pages_run_nothing_fetch_nothing_and_may_have_only_their_own_styles(
    client: httpx.AsyncClient, address: str
) -> None:
    answer = await client.get(address)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/html; charset=utf-8")
    expect_good_manners(answer.text)
    policy = dict(part.split(" ", 1) for part in answer.headers["content-security-policy"].split("; "))
    styles = re.findall(r"<style>(.*?)</style>", answer.text, re.DOTALL)
    hashes = {f"'sha256-{b64encode(sha256(style.encode()).digest()).decode()}'" for style in styles}
    assert set(policy["style-src"].split()) == hashes
    assert policy["default-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert policy["form-action"] == ("'self'" if address in ("/", "/match") else "'none'")
    assert not [style for style in styles if "url(" in style or "@import" in style or "<" in style or "&" in style]


async def test_links_of_the_pages_lead_somewhere(client: httpx.AsyncClient) -> None:
    tried = set()
    for address in ("/", "/match", "/troubleshooting", "/docs/start", "/docs/concepts"):
        for link in read_page((await client.get(address)).text).all("a"):
            target = str(httpx.URL(f"http://hooflast.test{address}").join(link.attributes["href"]))
            if target.startswith("http://hooflast.test") and target not in tried:
                found = await client.get(target)
                assert found.status_code == 200, (address, target)
                if "#" in target:
                    assert read_page(found.text).named(target.partition("#")[2])
            tried.add(target)
    assert {f"http://hooflast.test{path}" for path in ("/reference", "/openapi.json", "/docs/start")} <= tried


async def test_pages_link_to_the_public_address_when_there_is_one(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=WORLD, public_url="https://fits.example/hoof") as client:
        page = read_page((await client.get("/")).text)
    assert page.one("form").attributes["action"] == "https://fits.example/hoof/match"
    outward = [link.attributes["href"] for link in page.all("a") if not link.attributes["href"].startswith("#")]
    assert all(href.startswith("https://fits.example/hoof/") for href in outward)


class TestFaults:
    async def test_every_fault_stands_beside_its_field_and_in_the_summary(self, client: httpx.AsyncClient) -> None:
        page = await answered(
            client,
            status=422,
            LF__width="12 stone",
            LF__length="127",
            RF__width="124",
            pad="99",
            weeks_since_trim="soon",
        )
        summary = page.named("faults")
        assert summary.attributes["role"] == "alert"
        assert page.one("head").one("title").text.startswith("Please look at your numbers again")
        main = [node for node in page.one("main").nodes if node.tag != "h1"]
        assert main[0] is summary
        names = ("LF-width", "RF-length", "pad", "weeks_since_trim")
        assert {link.attributes["href"] for link in summary.all("a")} == {f"#{name}" for name in names}
        for name in names:
            field = page.named(name)
            assert field.attributes["aria-invalid"] == "true"
            assert f"{name}-fault" in field.attributes["aria-describedby"].split()
            assert page.named(f"{name}-fault").text in summary.text
        assert not page.all("section", kind="hoof")

    async def test_what_was_written_and_chosen_is_kept(self, client: httpx.AsyncClient) -> None:
        page = await answered(
            client,
            status=422,
            LF__width="12 stone",
            LF__length=" 127",
            RH__states=["flare"],
            RH__allowance="5 mm",
            uses=["road", "mud"],
            unit="in",
            need__founder="chronic",
            closures=["", "lace", "cable"],
            horse__name='Moth "the" <b>bold</b>',
            horse__is_foal="true",
            horse__animal_type="mule",
        )
        assert page.named("LF-width").attributes["value"] == "12 stone"
        assert page.named("LF-length").attributes["value"] == " 127"
        assert page.named("RH-allowance").attributes["value"] == "5 mm"
        assert page.named("horse-name").attributes["value"] == 'Moth "the" <b>bold</b>'
        ticked = {
            (box.attributes["name"], box.attributes["value"])
            for box in page.all("input")
            if "checked" in box.attributes
        }
        assert ticked == {
            ("RH.states", "flare"),
            ("uses", "road"),
            ("uses", "mud"),
            ("unit", "in"),
            ("horse.is_foal", "true"),
        }
        chosen = [
            (select.attributes["name"], option.attributes["value"])
            for select in page.all("select")
            for option in select.all("option")
            if "selected" in option.attributes
        ]
        assert {
            ("need.founder", "chronic"),
            ("horse.animal_type", "mule"),
            ("closures", "lace"),
            ("closures", "cable"),
        } <= set(chosen)

    async def test_an_answer_keeps_the_numbers_in_the_form_below(self, client: httpx.AsyncClient) -> None:
        page = await answered(client, LF__width="4 7/8 in; 124", LF__length="127", uses=["road"])
        assert page.named("LF-width").attributes["value"] == "4 7/8 in; 124"
        again = {"LF.width": page.named("LF-width").attributes["value"], "LF.length": "127", "uses": "road"}
        assert said(read_page((await send(client, again)).text)) == said(page)

    async def test_the_faults_are_those_of_the_api(self, client: httpx.AsyncClient) -> None:
        page = await answered(client, status=422, LF__width="3", LF__length="9 ell", uses=["flying"], pad="x")
        form = {"hooves": [{"limb": "LF", "width": "3", "length": "9 ell"}], "uses": ["flying"], "pad": "x"}
        errors = (await client.post("/v1/matches", json=form)).json()["errors"]
        assert len(page.named("faults").all("li")) == len(errors)
        for error in errors:
            assert error["detail"] in page.named("faults").text
            assert error["accepted"] in page.named("faults").text

    async def test_a_form_that_was_tampered_with_is_told_so(self, client: httpx.AsyncClient) -> None:
        page = await answered(client, status=422, LF__width="124", LF__length="127", colour="<script>")
        assert "colour" in page.named("faults").text


async def test_what_a_person_writes_is_never_read_as_html(client: httpx.AsyncClient) -> None:
    name = "<script>alert(1)</script> & {{ 7 * 7 }}"
    page = await answered(client, LF__width="124", LF__length="127", horse__name=name)
    assert name in page.one("h1").text
    assert name in page.one("head").one("title").text


async def test_nothing_of_a_form_is_stored_and_the_page_says_so(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=WORLD) as client:
        page = await answered(client, LF__width="124", LF__length="127", horse__name="Thistle")
        await client.get("/")
    assert "Nothing of what you entered was stored" in said(page)
    assert "receipt" in said(page)
    assert "eyJ" not in said(page)
    async with open_store(sqlite_url) as store:
        assert await store.answers.page(tenant="local") == ()  # type: ignore[arg-type]
    async with serving(sqlite_url, library=WORLD) as client:
        sent = await send(client, HOOF)
    assert sent.headers["cache-control"] == "no-store"


async def test_who_holds_the_start_page_is_told_so_until_the_day_ends(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=WORLD) as client:
        tag = (await client.get("/")).headers["etag"]
        again = await client.get("/", headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    async with serving(sqlite_url, library=WORLD, clock=lambda: NOW + timedelta(days=1)) as client:
        assert (await client.get("/", headers={"If-None-Match": tag})).status_code == 200


@pytest.mark.parametrize(
    "given_type", [None, "", "application/json", "multipart/form-data; boundary=x", f"{FORM}; charset=latin-1"]
)
async def test_a_form_of_another_kind_is_refused(client: httpx.AsyncClient, given_type: str | None) -> None:
    headers = {} if given_type is None else {"Content-Type": given_type}
    answer = await client.post("/match", content=urlencode(HOOF), headers=headers)
    assert (answer.status_code, answer.headers["accept"]) == (415, FORM)
    assert answer.headers["content-type"] == "application/problem+json"


async def test_a_form_over_the_limit_is_refused(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=WORLD, max_body_bytes=4096) as client:
        answer = await client.post("/match", content=b"a=" + b"b" * 5000, headers={"Content-Type": FORM})
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/body-too-large")


async def test_without_a_catalog_the_form_is_there_and_no_answer(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=Library(releases=())) as client:
        assert (await client.get("/")).status_code == 503
        assert (await client.get("/match")).status_code == 200
        sent = await send(client, HOOF)
        assert (sent.status_code, sent.json()["type"]) == (503, "/problems/catalog-unavailable")


any_pairs = st.lists(st.tuples(st.text(max_size=8), st.text(max_size=8)))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(raw=bodies | any_pairs.map(lambda pairs: urlencode(pairs, errors="replace").encode()))
async def test_no_form_makes_the_service_fail(client: httpx.AsyncClient, raw: bytes) -> None:
    answer = await client.post("/match", content=raw, headers={"Content-Type": FORM})
    assert answer.status_code in (200, 422), answer.text
    expect_good_manners(answer.text)


def test_the_demo_horse_can_be_read_on_any_day() -> None:
    for day in (NOW.date(), NOW.date() + timedelta(days=200)):
        assert len(read_match_question(BRAMBLE, today=day).hooves) == 4
