"""`hooflast plan`."""

import json

import pytest

from hooflast.cli import main

FOUR = (
    "--hoof", "LF:width=124,length=127", "--hoof", "RF:width=126,length=130",
    "--hoof", "LH:width=119,length=125", "--hoof", "RH:width=119,length=126",
    "--method", "tape", "--use", "hacking",
)  # fmt: skip
UNLIKE = ("--hoof", "LF:width=118,length=121", "--hoof", "RF:width=130,length=133", "--method", "tape")
OFFERS = """boot,size,price,stock,sold_as
ombrick-jorveth,lapwing,64.90,3,single
ombrick-jorveth,jackdaw,64.90,1,single
haskeby-jessomere,roach,99.00,,pair
haskeby-jessomere,perch,99.00,,pair
ombrick-jorveth-hind,lapwing,109.90,4,pair
"""


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    (tmp_path / "offers.csv").write_text(OFFERS)

    def run(*arguments: str) -> tuple[int, str, str]:
        try:
            main(("plan", *arguments))
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return code, out, err

    return run


def test_tables_say_what_to_put_on_what_to_buy_and_what_it_comes_to(run):
    code, out, _ = run(*FOUR, "--offers", "offers.csv", "--currency", "EUR")
    assert code == 0
    for said in ("What to put on", "What to buy", "Ombrick Jorveth Hind", "€109.90", "Together €239.70."):
        assert said in out
    assert "Next best in other boots: left fore Haskeby Jessomere roach" in out
    assert "Costs €68.20 more." in out


def test_pairs_for_unlike_hooves_leave_boots_over(run, tmp_path):
    (tmp_path / "offers.csv").write_text("\n".join(OFFERS.splitlines()[:1] + OFFERS.splitlines()[3:5]))
    _, out, _ = run(*UNLIKE, "--offers", "offers.csv", "--currency", "EUR")
    assert "1 boot is left over: Haskeby Jessomere in size roach." in out
    assert "Together €198.00." in out


def test_a_budget_that_is_too_small_says_so_for_each_hoof(run):
    code, out, _ = run(*FOUR, "--offers", "offers.csv", "--currency", "EUR", "--budget", "120")
    assert code == 0
    assert "left fore: What would serve it is beyond the budget" in out
    assert "The likeliest on sale for it alone: Ombrick Jorveth in size lapwing" in out
    assert "Together €109.90." in out


def test_the_prices_of_surer_plans_are_told(run):
    _, out, _ = run(
        *FOUR, "--offers", "offers.csv", "--currency", "EUR", "--least-fit-chance", "0.05", "--budget", "300"
    )
    assert "What a surer fit costs" in out
    assert "hooves" in out


def test_without_offers_the_whole_catalog_is_on_sale(run):
    code, out, _ = run(*FOUR)
    assert code == 0
    assert "The price of 4 boots is not known." in out
    assert "Together" not in out


def test_a_painful_foot_is_told_to_stop_first(run):
    _, out, _ = run(*FOUR[:4], "--need", "founder")
    assert out.startswith("stop: ")


def test_json_is_the_document_of_the_service(run):
    _, out, _ = run(*FOUR, "--offers", "offers.csv", "--currency", "EUR", "--aim", "cheapest", "--json")
    document = json.loads(out)
    assert document["aim"] == "cheapest"
    assert [hoof["limb"] for hoof in document["plan"]["hooves"]] == ["LF", "RF", "LH", "RH"]


def test_a_fault_in_the_offers_names_row_and_column(run, tmp_path):
    (tmp_path / "offers.csv").write_text(OFFERS.replace("roach,99.00", "roach,99.005").replace("perch", "pearch"))
    code, _, err = run(*FOUR, "--offers", "offers.csv", "--currency", "EUR")
    assert code == 2
    assert "Row 4, column price" in err
    (tmp_path / "offers.csv").write_text(OFFERS.replace("perch", "pearch"))
    _, _, err = run(*FOUR, "--offers", "offers.csv", "--currency", "EUR")
    assert "Row 5, column size: Jessomere has no size with this code. Give one of its sizes: perch" in err
