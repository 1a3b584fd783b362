"""`hooflast cycle`."""

import json
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree as ET

import pytest

from hooflast.cli import main

TODAY = datetime.now(UTC).date()
HOOF = ("--hoof", "LF:width=121,length=122,observer=professional", "--method", "calliper",
        "--weeks-since-trim", "0", "--cycle-weeks", "7")  # fmt: skip
SEEN = ((21, "after_trim", 120, 121), (14, "before_trim", 124, 127), (14, "after_trim", 120, 121),
        (7, "before_trim", 124, 128))  # fmt: skip


def past(weeks: int, beside: str, *, width: int, length: int) -> str:
    return f"LF:measured_on={TODAY - timedelta(weeks=weeks)},beside={beside},width={width},length={length}"


PAST = tuple(
    word
    for weeks, beside, width, length in SEEN
    for word in ("--past", past(weeks, beside, width=width, length=length))
)


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")

    def run(*arguments: str) -> tuple[int, str, str]:
        code = 0
        try:
            main(("cycle", *arguments))
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return code, out, err

    return run


def test_a_table_tells_every_moment_and_the_advice_below_it(run):
    code, out, _ = run(*HOOF, "--boot", "ombrick-lindrowe")
    assert code == 0
    for said in ("as measured", "just after the trim", "at the end of the cycle", "throughout", "lapwing", "thrush"):
        assert said in out
    assert "fits at every moment of the cycle" in out
    assert "Measure just before a trim next time" in out
    assert "As is usual it gains 0.3 mm" in out


def test_a_trim_no_week_ago_is_told_and_not_assumed(run):
    _, out, _ = run(*HOOF)
    assert "You did not say how long before the reading the hoof was trimmed" not in out


def test_past_readings_teach_its_own_growth(run):
    code, out, _ = run(*HOOF, *PAST)
    assert code == 0
    assert "From its own 4 readings: it gains" in out
    assert "As is usual" not in out


def test_json_is_the_document(run):
    code, out, _ = run(*HOOF, *PAST, "--boot", "ombrick-lindrowe", "--size", "rook", "--json")
    (hoof,) = json.loads(out)["hooves"]
    assert code == 0
    assert hoof["sizes"][0]["size"] == "rook"
    assert hoof["learned"]["own_readings"] == 4


def test_the_chart_is_written_to_the_file_that_was_named(run, tmp_path):
    code, _, _ = run(*HOOF, "--boot", "ombrick-lindrowe", "--chart", "cycle.svg")
    assert code == 0
    assert ET.fromstring((tmp_path / "cycle.svg").read_text("utf-8")).tag.endswith("svg")


def test_a_file_may_ask_it(run, tmp_path):
    (tmp_path / "moth.json").write_text(json.dumps({"hooves": [{"limb": "RH", "width": 120, "length": 126}]}))
    code, out, _ = run("moth.json", "--cycle-weeks", "6", "--circumstance", "rest")
    assert code == 0
    assert "right hind" in out
    assert "what you named (at rest after training)" in out


def test_a_foal_is_told_no_size(run, tmp_path):
    asked = {"horse": {"is_foal": True}, "cycle_weeks": 6, "hooves": [{"limb": "LF", "width": 100, "length": 100}]}
    (tmp_path / "foal.json").write_text(json.dumps(asked))
    code, out, _ = run("foal.json")
    assert code == 0
    assert "stop:" in out
    assert "throughout" not in out
    assert "As is usual" not in out


@pytest.mark.parametrize(
    ("arguments", "place"),
    [(("--boot", "nettle"), "/boot"), (("--size", "rook"), "/size"), (("--past", "RF:width=1,length=2"), "/history/0")],
)
def test_what_is_asked_the_wrong_way_is_refused(run, arguments, place):
    code, _, err = run(*HOOF, *arguments)
    assert code == 2
    assert place in err
