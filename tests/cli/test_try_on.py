"""`hooflast try`."""

import io
import json
from collections.abc import Callable

import pytest

from hooflast.cli import main

HOOF = ("--hoof", "LF:width=126,length=127", "--method", "tape", "--boot", "haskeby-ingleworth")
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        code = 0
        try:
            main(("try", *arguments))
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return code, out, err

    return run


def test_it_names_the_size_to_try_and_how(run):
    code, out, _ = run(*HOOF)
    assert code == 0
    assert "left fore: Haskeby Ingleworth" in out
    assert "Try size perch." in out
    assert "so that no joint is wrenched" in out
    assert "Try-ons still to expect: " in out
    assert "In the shortest order" not in out


def test_a_practised_order_is_held_against_the_shortest(run):
    _, out, _ = run(*HOOF, "--order", "one_above")
    assert "Try size tench." in out
    assert "In the shortest order: " in out


def test_what_was_tried_is_told_with_flags_also_of_another_boot_model(run):
    _, out, _ = run(*HOOF, "--tried", "perch:will_not_go_on")
    assert "Try size tench." in out
    tried = ("perch:stays_put,rotation=none,heel_gap=none", "vellory-pelverne/tansy:will_not_go_on")
    _, out, _ = run(*HOOF, "--tried", tried[0], "--tried", tried[1])
    assert "Size perch is the one to keep." in out


def test_the_exchange_is_named_for_the_boot_at_home(run):
    _, out, _ = run(*HOOF, "--at-home", "tench")
    assert "Try size tench." in out
    assert "It is seated, yet turns on the foot (" in out
    assert "Try it indoors" in out


def test_without_a_boot_model_it_begins_with_the_one_that_follows_the_hoof_best(run):
    code, out, _ = run(*HOOF[:-2])
    assert code == 0
    assert "left fore: " in out
    assert "Try size " in out


def test_it_asks_for_one_finding_after_the_other_as_far_as_the_next_boot_model(run):
    typed = "turns\nwill_not_go_on\ny\nheel_not_seated\nstays_put\nnone\nnone\nnone\n"
    code, out, _ = run(*HOOF, "--ask", typed=typed)
    assert code == 0
    told = ["Try size perch.", "Try size roach.", "Leave this boot model", "Go on with that boot model?", "Try size "]
    told += ["Seat the heel of size ", "stays put: now let the horse move in it.", "is the one to keep."]
    assert [place for place in map(out.find, told) if place < 0] == []
    places = [out.index(told[0])]
    for one in told[1:]:
        places.append(out.index(one, places[-1] + 1))
    assert out.count("our conventions") == 1


def test_who_does_not_go_on_with_another_boot_model_is_asked_no_more(run):
    _, out, _ = run(*HOOF, "--ask", typed="turns\nwill_not_go_on\nn\n")
    assert out.rstrip().endswith("[y/N]:")


def test_a_painful_foot_is_asked_nothing(run):
    code, out, _ = run(*HOOF, "--need", "founder", "--ask")
    assert code == 0
    assert out.index("stop: ") < out.index("Stop: try nothing on.")
    assert "What do you see?" not in out
    assert "Haskeby" in out


def test_a_hoof_that_no_boot_model_is_near_is_told_so(run):
    _, out, _ = run("--hoof", "LF:width=240,length=235")
    assert "Leave this boot model" in out
    assert "No other boot model of this catalog release" in out


def test_json_is_the_document_of_the_service(run):
    code, out, _ = run(*HOOF, "--json", "--tried", "perch:turns")
    assert code == 0
    document = json.loads(out)
    assert (document["advice"], document["size"], document["boot"]["id"]) == ("try", "roach", "haskeby-ingleworth")


@pytest.mark.parametrize(
    ("tried", "place"),
    [
        ("perch:turn", "/try_ons/0/finding"),
        ("perch", "/try_ons/0/finding"),
        ("goose:turns", "/try_ons/0/size"),
        ("perch:turns,rotation=free", "/try_ons/0/rotation"),
        ("perch:stays_put,rotation", "/try_ons/0/rotation"),
        ("nowhere/perch:turns", "/try_ons/0/boot"),
    ],
)
def test_what_is_told_the_wrong_way_is_refused_at_its_place(run, tried, place):
    code, _, err = run(*HOOF, "--tried", tried)
    assert code == 2
    assert place in err
