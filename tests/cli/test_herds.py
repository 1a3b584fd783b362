"""`hooflast trial-set` and `hooflast coverage`."""

import json
from pathlib import Path

import pytest

from hooflast.cli import main

ROWS = "horse,limb,width,length\nBramble,LF,124,126\nBramble,LH,119,125\nSable,LF,129,131\n"


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    (tmp_path / "herd.csv").write_text(ROWS, encoding="utf-8")

    def run(*arguments):
        try:
            main(arguments)
        except SystemExit as stopped:
            out, err = capfd.readouterr()
            return int(stopped.code or 0), out, err

    return run


def test_a_set_for_measured_hooves_is_shown_with_its_curve(run):
    code, out, _ = run("trial-set", "herd.csv", "--method", "calliper", "--share", "1", "--boot", "haskeby-ingleworth")
    assert code == 0
    assert out.startswith("look again: These sizes are for trying on sound feet.")
    assert "Haskeby Ingleworth" in out
    assert "1 size:" in out


def test_as_json_it_is_what_the_service_answers(run):
    _, out, _ = run("trial-set", "herd.csv", "--counting", "horses", "--json")
    document = json.loads(out)
    assert (document["horses"], document["counting"]) == (2, "horses")
    _, out, _ = run("coverage", "herd.csv", "--limbs", "fore", "--json")
    assert [plane["limbs"] for plane in json.loads(out)["planes"]] == ["fore"]


def test_coverage_of_a_kind_names_its_gaps(run):
    code, out, _ = run("coverage", "--kind", "horse", "--use", "hacking")
    assert code == 0
    assert "of these hooves" in out.lower()
    assert "Gap 1:" in out


def test_pictures_are_written_to_files(run):
    run("trial-set", "herd.csv", "--share", "0.5", "--most", "2", "--picture", "curve.svg")
    run("coverage", "herd.csv", "--picture", "plane.svg")
    for name in ("curve.svg", "plane.svg"):
        assert Path(name).read_text(encoding="utf-8").startswith("<svg")


def test_a_herd_can_come_from_standard_input(run, monkeypatch):
    Path("asked.json").write_text('{"kinds":[{"animal_type":"mini"}],"share":0.2}', encoding="utf-8")
    with Path("asked.json").open(encoding="utf-8") as given:
        monkeypatch.setattr("sys.stdin", given)
        code, out, _ = run("trial-set", "-", "--json")
    assert code == 0
    assert json.loads(out)["wished"] == 0.2


@pytest.mark.parametrize(
    ("arguments", "place"),
    [
        (("trial-set",), "/horses"),
        (("trial-set", "herd.csv", "--kind", "pony:2"), "/kinds"),
        (("coverage", "--kind", "goat"), "/kinds/0/animal_type"),
        (("coverage", "--kind", "pony:much"), "/kinds/0/weight"),
        (("coverage", "--kind", "pony", "--boot", "nothing"), "/boots"),
    ],
)
def test_faults_are_told_at_their_place(run, arguments, place):
    code, _, err = run(*arguments)
    assert code == 2
    assert place in err
