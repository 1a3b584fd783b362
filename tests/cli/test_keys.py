"""Keys on the command line: made and shown once, listed without secrets, rotated, revoked, looked up in the log."""

import json
import sqlite3
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console
from tests.api.samples import LIBRARY, put_out
from tests.cli.running import Run, running
from tests.databases import complete

from hooflast.access.secret import read_key
from hooflast.cli.key_tables import print_log, shortening
from hooflast.store.audit import Actor, AuditEntry, Deed
from hooflast.texts import load_texts

SHOP = ("--client", "tarn-and-tether")
PAGES = "https://tarn-and-tether.example"
BY_KEY = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b12"
IN_REQUEST = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b13"


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, sqlite_url: str) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "250")
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)
    monkeypatch.setattr("getpass.getuser", lambda: "juniper")
    complete(put_out(LIBRARY, sqlite_url))
    return running(capfd)


def create(run: Run, *options: str) -> dict[str, Any]:
    ran = run("keys", "create", "The till", *SHOP, "--json", *options)
    assert ran.code == 0, ran.err
    made: dict[str, Any] = json.loads(ran.out)
    return made


def listed(run: Run) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(run("keys", "list", *SHOP, "--json").out)
    return found


def test_a_key_is_shown_once_and_is_listed_without_its_secret(run: Run) -> None:
    made = create(run)
    written = made.pop("key")
    assert read_key(written).key_id == made["id"]
    assert listed(run) == [made]
    assert (made["client"], made["kind"], made["mode"], made["created_by"]) == (
        "tarn-and-tether", "server", "live", "user:juniper",
    )  # fmt: skip
    for options in ((), ("--json",)):
        shown = run("keys", "list", *SHOP, *options).out
        assert made["id"] in shown
        assert written[-30:] not in shown


def test_a_person_is_shown_the_key_and_told_to_keep_it(run: Run) -> None:
    ran = run("keys", "create", "The till", *SHOP)
    (written,) = [line for line in ran.out.splitlines() if line.startswith("hooflast_")]
    assert read_key(written).key_id in ran.out
    assert "shown only now" in ran.out


def test_with_an_origin_it_is_a_key_for_pages(run: Run) -> None:
    made = create(run, "--origin", PAGES.upper(), "--origin", "http://localhost:5173", "--per-visitor-minute", "7")
    assert (made["kind"], made["origins"]) == ("browser", [PAGES, "http://localhost:5173"])
    assert (made["scopes"], made["per_visitor_minute"]) == (["match", "read"], 7)


def test_a_key_for_trying_names_what_it_works_on(run: Run) -> None:
    made = create(run, "--test")
    assert made["catalog_release"] == LIBRARY.releases[-1].id
    assert (made["client"], made["day"]) == ("tarn-and-tether", made["created_at"][:10])
    assert [one["id"] for one in listed(run)] == [made["id"]]


def test_a_key_does_not_operate_the_service_unless_it_is_said(run: Run) -> None:
    assert "operate" not in create(run)["scopes"]
    assert create(run, "--scope", "operate")["scopes"] == ["operate"]


def test_every_fault_is_told_at_once(run: Run) -> None:
    ran = run(
        *("keys", "create", "", "--client", "Tarn & Tether", "--origin", "null", "--scope", "erase"),
        *("--per-minute", "0", "--expires", "2001-01-01"),
    )
    assert ran.code == 2
    for place in ("client", "name", "origins", "scopes", "per_minute", "expires_at"):
        assert place in ran.err
    assert listed(run) == []


def test_a_rotated_key_has_another_secret_and_is_otherwise_the_same(run: Run) -> None:
    made = create(run)
    rotated = json.loads(run("keys", "rotate", made["id"], "--json").out)
    before, after = read_key(made.pop("key")), read_key(rotated.pop("key"))
    assert rotated == made
    assert after.key_id == before.key_id
    assert after.digest != before.digest


def test_a_revoked_key_is_listed_as_revoked_and_not_rotated(run: Run) -> None:
    made = create(run)
    assert made["id"] in run("keys", "revoke", made["id"]).out
    assert listed(run)[0]["revoked_at"] is not None
    refused = run("keys", "rotate", made["id"])
    assert (refused.code, "revoked" in refused.err) == (1, True)


@pytest.mark.parametrize("command", ["rotate", "revoke"])
@pytest.mark.parametrize("name", ["oats", "0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11"])
def test_a_key_that_is_not_there_is_not_found(run: Run, command: str, name: str) -> None:
    ran = run("keys", command, name)
    assert (ran.code, name in ran.err) == (1, True)


def test_the_log_tells_who_did_what_newest_first(run: Run) -> None:
    made = create(run)
    trying = create(run, "--test")
    run("keys", "rotate", made["id"])
    run("keys", "revoke", made["id"])
    entries = json.loads(run("keys", "log", *SHOP, "--json").out)
    assert [(one["deed"], one["subject"]) for one in entries] == [
        ("key-revoked", made["id"]),
        ("key-rotated", made["id"]),
        ("key-created", trying["id"]),
        ("key-created", made["id"]),
    ]
    assert {one["who"] for one in entries} == {"user:juniper"}
    shown = run("keys", "log", *SHOP).out
    assert all(one["subject"] in shown for one in entries)
    assert json.loads(run("keys", "log", "--client", "mossgate", "--json").out) == []


@pytest.mark.parametrize("columns", [80, 120])
def test_keys_and_the_log_are_readable_in_a_narrow_window(
    run: Run, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    pages = create(run, "--origin", PAGES, "--origin", "https://a-shop-with-quite-a-long-name.harrowmere.example:8443")
    run("keys", "revoke", create(run, "--test")["id"])
    for command in ("list", "log"):
        lines = run("keys", command, *SHOP).out.splitlines()
        assert max(map(len, lines)) <= columns
        assert sum(pages["id"] in line for line in lines) == 1, "an id that can be copied"
    told = run("keys", "list", *SHOP).out
    assert all(said in told for said in ("The till", PAGES, "browser, live", "server, test", "valid", "revoked"))


def entry_of(who: str, request: str) -> AuditEntry:
    actor = Actor(who=who, at=datetime(2026, 5, 4, 7, 30, tzinfo=UTC), request_id=request)
    return AuditEntry(id="a1", actor=actor, deed=Deed.MATCH_ERASED, subject="0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11")


@pytest.mark.parametrize(
    ("columns", "shown"),
    [(80, {"key:…3a1f0f6f2b12", "…3a1f0f6f2b13"}), (120, {f"key:{BY_KEY}", IN_REQUEST})],
)
def test_who_did_it_and_the_request_are_cut_only_where_there_is_no_room(columns: int, shown: set[str]) -> None:
    out = StringIO()
    entries = [entry_of(f"key:{BY_KEY}", IN_REQUEST), entry_of("user:juniper", "")]
    print_log(entries, load_texts("en"), console=Console(file=out, width=columns))
    words = set(out.getvalue().split())
    assert shown | {"user:juniper", "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11", "07:30:00"} <= words


def test_ids_that_would_look_alike_are_not_cut() -> None:
    alike = IN_REQUEST.replace("7c1e", "7c1f")
    assert shortening([IN_REQUEST, BY_KEY, IN_REQUEST, "service"])(IN_REQUEST) == "…3a1f0f6f2b13"
    assert shortening([IN_REQUEST, alike])(IN_REQUEST) == IN_REQUEST
    assert shortening([IN_REQUEST, "service"])("service") == "service"


def test_only_a_digest_of_the_secret_is_kept(run: Run, tmp_path: Path) -> None:
    secret = create(run)["key"].rpartition("_")[2]
    with sqlite3.connect(tmp_path / "hooflast.sqlite3") as database:
        kept = "\n".join(database.iterdump())
    assert secret[:20] not in kept


def test_where_nothing_is_published_no_key_for_trying_can_be_made(
    run: Run, monkeypatch: pytest.MonkeyPatch, bare_sqlite_url: str
) -> None:
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", bare_sqlite_url.replace("hooflast.sqlite3", "empty.sqlite3"))
    assert run("database", "upgrade").code == 0
    assert run("keys", "create", "Trying", *SHOP, "--test").code == 1
    assert run("keys", "create", "The till", *SHOP).code == 0
