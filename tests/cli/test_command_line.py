"""The command line: what it prints, what it refuses, and that every way of giving readings comes to one answer."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests import demo

from hooflast.api import server
from hooflast.cli import main
from hooflast.cli.serve import EXAMPLE
from hooflast.exchange import read_match_question
from hooflast.settings import Settings
from hooflast.store.migrations import head


class Ran:
    """What one run of the command line came to."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments: str) -> Ran:
        try:
            main(arguments)
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return Ran(code, out, err)

    return run


HOOVES = ("--hoof", "LF:width=124,length=127", "--hoof", "RH:width=118,length=125")
DOCUMENT = {
    "method": "tape",
    "uses": ["hacking"],
    "hooves": [{"limb": "LF", "width": 124, "length": 127}, {"limb": "RH", "width": 118, "length": 125}],
}
YAML = """
method: tape
uses: [hacking]
hooves:
  - {limb: LF, width: 124, length: 127}
  - {limb: RH, width: 118, length: 125}
"""
CSV = "limb,width,length\nLF,124,127\nRH,118,125\n"


class TestBulk:
    LIST = "hoof,limb,width,length\nBramble,LF,124,127\nJuniper,XX,124,127\nSable,LH,118,125\n"

    def test_every_good_row_gets_its_boots_and_a_bad_one_is_told_by_its_number(self, run):
        Path("list.csv").write_text(self.LIST, encoding="utf-8")
        ran = run("bulk", "list.csv", "--boots", "2")
        rows = [line.split(",") for line in ran.out.splitlines()]
        assert rows[0] == ["row", "hoof", "limb", "place", "boot", "size", "fit_chance"]
        assert [(row[0], row[1], row[3]) for row in rows[1:]] == [
            ("2", "Bramble", "1"),
            ("2", "Bramble", "2"),
            ("4", "Sable", "1"),
            ("4", "Sable", "2"),
        ]
        assert "Row 3, column limb" in ran.err
        assert ran.code == 1

    def test_both_formats_name_the_same_boots(self, run):
        Path("list.csv").write_text(self.LIST.replace("XX", "RF"), encoding="utf-8")
        table, lines = (run("bulk", "list.csv", "--write-as", form) for form in ("csv", "ndjson"))
        from_lines = [
            [str(line["row"]), fit["boot"], fit["size"]]
            for line in map(json.loads, lines.out.splitlines())
            for fit in line["fits"]
        ]
        from_table = [line.split(",") for line in table.out.splitlines()[1:]]
        assert from_lines == [[row[0], row[4], row[5]] for row in from_table]
        assert table.code == lines.code == 0
        assert "veterinarian" in table.err

    def test_only_boots_for_the_named_use_are_listed(self, run):
        Path("list.ndjson").write_text('{"limb": "LF", "width": 124, "length": 127}\n', encoding="utf-8")
        ran = run("bulk", "list.ndjson", "--use", "soaking", "--boots", "20")
        boots = {line.split(",")[4] for line in ran.out.splitlines()[1:]}
        release = demo.offered().library.active
        assert boots
        assert all("soaking" in release.boots[boot].intended_uses for boot in boots)

    def test_a_heading_of_no_use_is_refused(self, run):
        Path("list.csv").write_text("name,colour\nBramble,bay\n", encoding="utf-8")
        assert run("bulk", "list.csv").code == 2


class TestMatch:
    def test_a_table_names_hoof_boot_size_and_why(self, run):
        ran = run("match", *HOOVES, "--use", "hacking", "--boots", "2")
        answer = json.loads(run("match", *HOOVES, "--use", "hacking", "--boots", "2", "--json").out)
        assert ran.code == 0
        for hoof in answer["hooves"]:
            assert hoof["limb_text"] in ran.out
            for fit in hoof["boots"]:
                assert fit["boot"]["name"] in ran.out
                assert fit["best"]["size"] in ran.out

    def test_flags_json_yaml_and_csv_come_to_one_answer(self, run, tmp_path):
        files = {"in.json": json.dumps(DOCUMENT), "in.yaml": YAML, "in.csv": CSV}
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        told = ("--method", "tape", "--use", "hacking", "--json")
        answers = {run("match", *HOOVES, *told).out, *(run("match", name, *told).out for name in files)}
        assert len(answers) == 1
        assert json.loads(answers.pop())["asked"]["uses"] == ["hacking"]

    def test_an_answer_here_is_not_kept_and_says_so(self, run, tmp_path):
        answer = json.loads(run("match", *HOOVES, "--json").out)
        assert (answer["id"], answer["receipt"]) == (None, None)
        assert list(tmp_path.iterdir()) == []

    def test_what_is_told_on_the_command_line_goes_before_the_file(self, run, tmp_path):
        (tmp_path / "in.json").write_text(json.dumps(DOCUMENT | {"horse": {"name": "Moth", "animal_type": "pony"}}))
        asked = json.loads(run("match", "in.json", "--animal-type", "mini", "--use", "road", "--json").out)["asked"]
        assert (asked["horse_name"], asked["animal_type"], asked["uses"]) == ("Moth", "mini", ["road"])

    def test_a_need_is_told_with_its_course(self, run):
        asked = json.loads(run("match", *HOOVES, "--need", "heel_pain:chronic", "--need", "founder", "--json").out)
        assert asked["asked"]["needs"] == [
            {"need": "heel_pain", "course": "chronic"},
            {"need": "founder", "course": "acute"},
        ]

    def test_a_painful_foot_is_told_to_stop_before_anything_else_and_gets_no_sizes_to_try(self, run):
        ran = run("match", *HOOVES, "--need", "founder")
        assert ran.out.startswith("stop:")
        assert "in this order" not in ran.out

    def test_every_fault_is_told_at_its_place(self, run):
        ran = run("match", "--hoof", "LF:width=9,length=127", "--hoof", "LF:width=124,length=x")
        assert ran.code == 2
        assert ran.out == ""
        for place in ("/hooves/0/width", "/hooves/1/limb", "/hooves/1/length"):
            assert place in ran.err

    def test_a_fault_in_a_table_is_told_by_row_and_column(self, run, tmp_path):
        (tmp_path / "in.csv").write_text("limb,width,length\nLF,124,127\nXX,118,125\n")
        ran = run("match", "in.csv")
        assert ran.code == 2
        assert re.search(r"Row 3.*limb", ran.err)

    def test_an_unknown_catalog_release_is_not_found(self, run, tmp_path):
        (tmp_path / "in.json").write_text(json.dumps(DOCUMENT | {"catalog_release": "sha256-0"}))
        ran = run("match", "in.json")
        assert ran.code == 1
        assert "sha256-0" in ran.err


class TestCatalog:
    def test_every_boot_model_is_shown(self, run):
        shown = run("catalog", "show")
        assert shown.code == 0
        for boot in demo.offered().library.active.boots.values():
            assert boot.name in shown.out

    def test_one_boot_model_is_shown_with_its_sizes_by_id_or_name(self, run):
        boot = next(iter(demo.offered().library.active.boots.values()))
        by_id, by_name = run("catalog", "show", boot.id), run("catalog", "show", boot.name)
        assert by_id.out == by_name.out
        for size in boot.sizes:
            assert size.code in by_id.out

    def test_an_older_catalog_release_can_be_shown(self, run):
        oldest = demo.offered().library.releases[0]
        shown = json.loads(run("catalog", "show", "--release", oldest.id, "--json").out)
        assert [boot["id"] for boot in shown["boots"]] == list(oldest.boots)

    def test_a_boot_model_that_is_not_there_is_said_so(self, run):
        ran = run("catalog", "show", "nobody-nothing")
        assert ran.code == 1
        assert "nobody-nothing" in ran.err

    def test_plugins_are_listed_with_their_editions(self, run):
        listed = json.loads(run("plugins", "--json").out)
        assert [one["plugin"] for one in listed] == [report.plugin for report in demo.offered().reports]
        assert listed[0]["editions"]
        assert listed[0]["plugin"] in run("plugins").out


class TestDatabase:
    def test_tables_go_up_and_down(self, run, monkeypatch, tmp_path):
        monkeypatch.setenv("HOOFLAST_DATABASE_URL", f"sqlite:///{tmp_path / 'here.sqlite3'}")
        assert "no tables" in run("database", "current").out
        assert head() in run("database", "upgrade").out
        assert head() in run("database", "current").out
        assert "no tables" in run("database", "downgrade", "base").out


class TestServe:
    def test_the_address_and_an_example_call_are_printed(self, run, monkeypatch):
        asked: list[Settings] = []

        def serve(settings: Settings, *, announce) -> None:
            asked.append(settings)
            announce("http://127.0.0.1:9")

        monkeypatch.setattr(server, "serve", serve)
        ran = run("serve", "--port", "9", "--workers", "2")
        assert (asked[0].port, asked[0].workers) == (9, 2)
        assert "http://127.0.0.1:9/v1/matches" in ran.out
        assert EXAMPLE in ran.out

    def test_the_example_is_a_request_that_is_read(self):
        question = read_match_question(EXAMPLE.encode(), today=datetime.now(UTC).date())
        assert len(question.hooves) == 4


class TestManners:
    @pytest.mark.parametrize(
        "command", ["", "match", "serve", "catalog", "catalog show", "plugins", "database", "database grant"]
    )
    def test_every_command_explains_itself_in_words_not_keys(self, run, command):
        ran = run(*command.split(), "--help")
        assert ran.code == 0
        assert "cli." not in ran.out

    def test_an_unknown_setting_is_refused_with_the_closest_one(self, run, monkeypatch):
        monkeypatch.setenv("HOOFLAST_PORTT", "1")
        ran = run("plugins")
        assert ran.code == 2
        assert "HOOFLAST_PORT" in ran.err

    def test_asking_twice_leaves_the_words_as_they_were(self, run):
        assert run("match", "--help").out == run("match", "--help").out
