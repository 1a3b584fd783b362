"""Author kit: a plugin begun from the template passes the suite, and a bad one fails it with clear words."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from hooflast_author_kit.command_line import main

pytestmark = pytest.mark.full
METADATA = """Metadata-Version: 2.1
Name: {name}
Version: 1.0.0
"""


def install(folder: Path, *, name: str, package: str) -> None:
    """Put a package's metadata beside it, as an installer does, so that its entry point is found on the path."""
    info = folder / f"{package}-1.0.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(METADATA.format(name=name))
    (info / "entry_points.txt").write_text(f"[hooflast.catalog]\n{name} = {package}:plugin\n")


def check(name: str, *options: str, folder: Path) -> subprocess.CompletedProcess[str]:
    script = (
        f"import sys; sys.path.insert(0, {str(folder)!r}); from hooflast_author_kit.command_line import main; main()"
    )
    command = [sys.executable, "-c", script, "check", name, *options]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def begin(folder: Path, *options: str, name: str) -> Path:
    made = CliRunner().invoke(main, ["new", name, str(folder / name), *options])
    assert made.exit_code == 0, made.output
    install(folder / name, name=name, package=name.replace("-", "_"))
    return folder / name


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    return begin(tmp_path, name="my-boots")


@pytest.fixture
def begun_with_text(tmp_path: Path) -> Path:
    return begin(tmp_path, "--reads", "text", name="my-list")


def change(folder: Path, old: str, new: str) -> None:
    """One change in a plugin's code."""
    (file,) = folder.glob("my_*/__init__.py")
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))


def test_a_plugin_begun_from_the_template_passes(begun: Path) -> None:
    done = check("my-boots", folder=begun)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "FAILS" not in done.stdout
    assert done.stderr == ""


def test_a_plugin_that_reads_a_format_of_its_own_passes_with_its_plugins_file(begun_with_text: Path) -> None:
    done = check("my-list", "--settings", "plugins.yaml", folder=begun_with_text)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "13 of 13 hold" in done.stdout


def test_a_plugins_settings_may_stand_in_a_file_of_their_own(begun_with_text: Path) -> None:
    (begun_with_text / "own.yaml").write_text("path: list.txt\n")
    assert check("my-list", "--settings", "own.yaml", folder=begun_with_text).returncode == 0


def test_a_plugin_that_waits_for_its_settings_is_told_how_to_give_them(begun_with_text: Path) -> None:
    done = check("my-list", folder=begun_with_text)
    assert "It waits for the settings path. Give them in a YAML file: --settings FILE" in done.stdout
    assert done.stdout.count("FAILS") == 1


def test_a_fault_of_a_text_is_told_by_its_line_beside_what_the_plugin_finds(begun_with_text: Path) -> None:
    file = begun_with_text / "list.txt"
    file.write_text(file.read_text().replace("115-121", "121-115") + "GLUE | much\n")
    done = check("my-list", "--settings", "plugins.yaml", folder=begun_with_text)
    assert "2026-03-01: line 12: It is none of BOOT" in done.stdout
    assert "2026-03-01: list.txt line 6 The range does not go from low to high" in done.stdout
    assert "Look again: Rows are refused. The edition of 2026-03-01 is kept out whole" in done.stdout
    assert "Traceback" not in done.stdout
    assert done.stdout.count("FAILS") == 1


def test_a_size_whose_row_is_refused_is_told_beside_the_pad_that_names_it(begun_with_text: Path) -> None:
    change(begun_with_text, "return [finding for file in files for finding in self.unread[file.source]]", "return []")
    file = begun_with_text / "list.txt"
    file.write_text(file.read_text().replace("SIZE | birch | 115-121 | 118-125", "SIZE | birch | wide"))
    done = check("my-list", "--settings", "plugins.yaml", folder=begun_with_text)
    assert "list.txt line 11 my-list-first has no size of that code" in done.stdout
    assert "1 row was refused, and what it holds is missing here (line 6: It is none of BOOT" in done.stdout
    assert done.stdout.count("FAILS") == 1


def test_a_plugin_that_hangs_is_told_within_one_limit(begun: Path) -> None:
    change(begun, "        return [Source", "        __import__('time').sleep(600)\n        return [Source")
    seconds = 8
    done = check("my-boots", "--seconds", str(seconds), folder=begun)
    while "in `discover`, it took longer" not in done.stdout and seconds < 300:  # it did not come that far
        seconds *= 4
        done = check("my-boots", "--seconds", str(seconds), folder=begun)
    assert done.stdout.count(f"in `discover`, it took longer than {seconds} s") == done.stdout.count("FAILS") == 1
    assert done.stdout.count("It could not be asked") == 7


def test_a_plugin_that_hangs_while_it_is_imported_is_told_within_one_limit(begun: Path) -> None:
    change(begun, "plugin = Plugin()", "__import__('time').sleep(600)")
    done = check("my-boots", "--seconds", "3", folder=begun)
    assert "It takes longer than 3 s to be imported" in done.stdout
    assert done.stdout.count("FAILS") == 1


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("plugin = Plugin()", "plugin = Plugin", "names a class"),
        ("plugin = Plugin()", "raise SystemExit(3)", "While it was loaded (my_boots, line "),
        ("plugin = Plugin()", "import a_module_that_is_not_there", "ModuleNotFoundError"),
        ("        return [Source", "        [Source", "`discover` has a NoneType where sources belong"),
        ("        content = ", "        print('half way')\n        content = 1 / 0, ", "printed was: half way"),
        ("interface=(2, 2)", "interface=(1, 1)", "widen `interface`"),
    ],
)
def test_one_cause_is_told_once_and_keeps_to_its_test(old: str, new: str, words: str, begun: Path) -> None:
    change(begun, old, new)
    done = check("my-boots", folder=begun)
    assert done.returncode == 1, done.stdout + done.stderr
    assert done.stdout.count("FAILS") == 1
    assert words in done.stdout
    assert "Traceback" not in done.stdout
    assert "Regex" not in done.stdout


def test_a_secret_that_is_handed_over_fails_and_is_not_told(begun_with_text: Path) -> None:
    change(begun_with_text, "    path: Path", "    token: SecretStr = Field(description='The key.')\n    path: Path")
    change(begun_with_text, "import BaseModel", "import SecretStr, BaseModel")
    change(begun_with_text, 'note="Our list."', "note=settings.token.get_secret_value()")
    (begun_with_text / "own.yaml").write_text("path: list.txt\ntoken: hush-hush\n")
    done = check("my-list", "--settings", "own.yaml", folder=begun_with_text)
    assert "What a secret setting holds is handed over" in done.stdout
    assert "hush" not in done.stdout


def test_a_settings_file_that_holds_no_settings_is_told(begun_with_text: Path) -> None:
    (begun_with_text / "own.yaml").write_text("- path\n")
    done = check("my-list", "--settings", "own.yaml", folder=begun_with_text)
    assert done.returncode != 0
    assert "own.yaml holds no settings" in done.stdout + done.stderr


def test_the_suite_stands_among_an_authors_own_tests(begun: Path) -> None:
    script = f"import sys; sys.path.insert(0, {str(begun)!r}); import pytest; sys.exit(pytest.main(sys.argv[1:]))"
    options = ["--pyargs", "hooflast_author_kit.suite", "--hooflast-plugin", "my-boots", "-c", os.devnull]
    command = [sys.executable, "-c", script, *options, "--rootdir", str(begun), "-p", "no:cacheprovider"]
    done = subprocess.run(command, cwd=begun, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "13 passed" in done.stdout
    assert "Warning" not in done.stdout


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('name="my-boots"', 'name="My Boots"'), "lower-case letters"),
        (("released_on=date(2026, 3, 1)", "released_on=None"), "could not be asked"),
        (("return [Source", "return [][:0] or [][:0] and [Source"), "no edition"),
    ],
)
def test_a_plugin_that_does_not_conform_fails_with_clear_words(
    change: tuple[str, str], words: str, begun: Path
) -> None:
    file = begun / "my_boots" / "__init__.py"
    file.write_text(file.read_text().replace(*change))
    done = check("my-boots", folder=begun)
    assert done.returncode == 1, done.stdout + done.stderr
    assert words in done.stdout


def test_a_fault_in_the_chart_is_named_with_its_place(begun: Path) -> None:
    file = begun / "my_boots" / "boots.json"
    file.write_text(file.read_text().replace("[115, 121]", "[121, 115]"))
    done = check("my-boots", folder=begun)
    assert done.returncode == 1
    assert "boots.json /boots/0/sizes/1/width The range does not go from low to high" in done.stdout
    assert "catalog-range-inverted" in done.stdout


def test_a_plugin_that_offers_something_else_each_time_fails(begun: Path) -> None:
    file = begun / "my_boots" / "__init__.py"
    changed = "retrieved_on=date.fromordinal(700_000 + __import__('os').getpid() % 9_999)"
    file.write_text(file.read_text().replace("retrieved_on=source.released_on", changed))
    assert "Asked again, it offers something else" in check("my-boots", folder=begun).stdout


def test_settings_without_words_or_bounds_fail(begun: Path) -> None:
    file = begun / "my_boots" / "__init__.py"
    with_settings = "class Own(BaseModel):\n    folder: str = ''\n\n\nclass Plugin("
    text = file.read_text().replace("class Plugin(", with_settings).replace("(2, 2)", "(2, 2), settings=Own")
    file.write_text(text.replace("from hooflast", "from pydantic import BaseModel\n\nfrom hooflast", 1))
    assert "Say what these settings are" in check("my-boots", folder=begun).stdout


def test_a_name_that_nothing_is_called_is_told(begun: Path) -> None:
    done = check("nothing", folder=begun)
    assert done.returncode != 0
    assert (done.stdout + done.stderr).count("there are: ") == 1
    assert "my-boots" in done.stdout + done.stderr


def test_nothing_is_written_over(begun: Path) -> None:
    again = CliRunner().invoke(main, ["new", "my-boots", str(begun)])
    assert again.exit_code == 2
    assert "not empty" in again.output


def test_the_plugins_that_come_with_hooflast_pass(tmp_path: Path) -> None:
    assert check("demo", folder=tmp_path).returncode == 0
