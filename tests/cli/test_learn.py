"""Learning from a file of outcomes on the command line."""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from hooflast.catalog.loading import load_catalog
from hooflast.cli import main

ROW: dict[str, Any] = {
    "limb": "LF",
    "width": 116,
    "length": 117,
    "method": "calliper",
    "observer": "professional",
    "channel": "clinic",
    "boot": "ombrick-jorveth",
    "size": "thrush",
    "outcome": "kept",
}
CSV = ",".join(ROW) + "\n" + ",".join(map(str, ROW.values())) + "\n"


class Ran(NamedTuple):
    code: int
    out: str
    err: str


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., Ran]:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments: str) -> Ran:
        try:
            main(arguments)
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return Ran(code=code, out=out, err=err)

    return run


def lines(*rows: dict[str, Any]) -> str:
    return "\n".join(map(json.dumps, rows))


def test_a_table_says_what_was_learned_and_that_nothing_is_switched_on(run: Callable[..., Ran]) -> None:
    rows = [{**ROW, "width": 119, "length": 120, "outcome": "too_small"}] * 20 + [{**ROW, "width": 114}] * 20
    Path("outcomes.ndjson").write_text(lines(*rows), "utf-8")
    ran = run("learn", "outcomes.ndjson")
    assert (ran.code, ran.err) == (0, "")
    assert "40 outcomes read." in ran.out
    assert "Ombrick Jorveth" in ran.out
    assert "proposed" in ran.out
    assert "thrush" in ran.out
    assert "Readings by calliper, clinic" in ran.out
    assert "No answer changes by it until a person switches it on." in ran.out
    assert "Proposal sha256-" in ran.out


def test_a_table_says_what_is_missing_for_a_proposal(run: Callable[..., Ran]) -> None:
    Path("outcomes.csv").write_text(CSV, "utf-8")
    ran = run("learn", "outcomes.csv")
    assert ran.code == 0
    assert "too few outcomes" in ran.out
    assert "hardly told by outcomes" in ran.out
    assert "1 outcome read." in ran.out


def test_however_it_is_written_it_is_the_same_proposal(run: Callable[..., Ran]) -> None:
    ids = set()
    for name, text, options in (
        ("a.csv", CSV, ()),
        ("a.ndjson", lines(ROW), ()),
        ("a.txt", CSV, ("--written-as", "csv")),
    ):
        Path(name).write_text(text, "utf-8")
        document = json.loads(run("learn", name, "--json", *options).out)
        assert [boot["boot"] for boot in document["boots"]] == ["ombrick-jorveth"]
        ids.add(document["id"])
    assert len(ids) == 1


def test_outcomes_may_come_from_the_standard_input(run: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(lines(ROW).encode())))
    assert run("learn", "-").code == 0


def test_an_axis_that_a_chart_leaves_out_is_a_dash(run: Callable[..., Ran]) -> None:
    boots = load_catalog().library.active.boots.values()
    boot, size = next((boot, size) for boot in boots for size in boot.sizes if size.length is None and size.width)
    middle = round((size.width.low_mm + size.width.high_mm) / 2)
    row = {**ROW, "boot": boot.id, "size": size.code, "width": middle, "length": middle}
    Path("outcomes.ndjson").write_text(lines(row), "utf-8")
    ran = run("learn", "outcomes.ndjson")
    assert ran.code == 0
    assert "–" in ran.out


@pytest.mark.parametrize(("changed", "told"), [({"width": 900}, "Row 3"), ({"boot": "nowhere"}, "Row 3")])
def test_every_fault_names_its_row(run: Callable[..., Ran], changed: dict[str, Any], told: str) -> None:
    Path("outcomes.csv").write_text(CSV + ",".join(map(str, {**ROW, **changed}.values())), "utf-8")
    ran = run("learn", "outcomes.csv")
    assert (ran.code, ran.out) == (2, "")
    assert told.lower() in ran.err.lower()


def test_lengths_are_in_the_unit_that_is_told(run: Callable[..., Ran]) -> None:
    Path("outcomes.ndjson").write_text(lines({**ROW, "width": 11.6, "length": 11.7}), "utf-8")
    assert run("learn", "outcomes.ndjson").code == 2
    assert run("learn", "outcomes.ndjson", "--unit", "cm").code == 0


def test_what_could_not_be_told_apart_is_said(run: Callable[..., Ran]) -> None:
    rows = [{**ROW, "width": 119, "length": 120, "outcome": word} for word in ("too_small", "kept") for _ in range(40)]
    Path("outcomes.ndjson").write_text(lines(*rows), "utf-8")
    assert "do not tell" in run("learn", "outcomes.ndjson").out
