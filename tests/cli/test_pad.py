"""`hooflast pad`."""

import json

import pytest

from hooflast.cli import main

HOOF = ("--hoof", "LF:width=124,length=122", "--method", "calliper")


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments: str) -> tuple[int, str, str]:
        try:
            main(("pad", *arguments))
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return code, out, err

    return run


def test_a_table_names_both_sizes_the_limits_and_the_pads_that_go_along(run):
    code, out, _ = run(*HOOF, "--pad", "6", "--boot", "haskeby-ingleworth")
    assert code == 0
    assert "the pad takes 2.4 mm of the width and 2.9 mm of the length" in out
    assert "Haskeby Ingleworth" in out
    assert "perch" in out
    assert "8 mm" in out
    assert "Haskeby thin pad roach: perch" in out


def test_a_wedge_gives_a_little_length(run):
    _, out, _ = run(*HOOF, "--pad", "12", "--pad-kind", "wedge")
    assert "and gives 0.4 mm of length" in out
    assert "degrees onto its toe" in out


def test_on_a_painful_foot_it_says_stop_first_and_no_second_size(run):
    _, out, _ = run(*HOOF, "--pad", "6", "--need", "founder", "--boots", "1")
    assert out.startswith("stop: ")
    assert "only as your veterinarian directs" in out


def test_as_json_it_is_what_the_service_answers(run):
    code, out, _ = run(*HOOF, "--pad", "6", "--boots", "1", "--json")
    assert code == 0
    document = json.loads(out)
    assert document["pad"]["thickness_mm"] == 6.0
    assert len(document["hooves"][0]["boots"]) == 1


def test_a_pad_is_needed_and_faults_are_told_at_their_place(run):
    assert run(*HOOF)[0] == 2
    code, _, err = run(*HOOF, "--pad", "thick", "--boot", "nowhere")
    assert code == 2
    assert "pad" in err
