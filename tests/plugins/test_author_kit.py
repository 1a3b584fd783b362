"""Author kit: a plugin begun from the template passes the suite, and a bad one fails it with clear words."""

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


def check(name: str, *, folder: Path, settings: Path | None = None) -> subprocess.CompletedProcess[str]:
    options = [] if settings is None else ["--settings", str(settings)]
    command = [sys.executable, "-m", "hooflast_author_kit.command_line", "check", name, *options]
    script = (
        f"import sys; sys.path.insert(0, {str(folder)!r}); from hooflast_author_kit.command_line import main; main()"
    )
    command = [sys.executable, "-c", script, "check", name, *options]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    made = CliRunner().invoke(main, ["new", "my-boots", str(tmp_path / "my-boots")])
    assert made.exit_code == 0, made.output
    install(tmp_path / "my-boots", name="my-boots", package="my_boots")
    return tmp_path / "my-boots"


def test_a_plugin_begun_from_the_template_passes(begun: Path) -> None:
    done = check("my-boots", folder=begun)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "failed" not in done.stdout


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("interface=(2, 2)", "interface=(1, 1)"), "widen `interface`"),
        (("plugin = Plugin()", "plugin = Plugin"), "names a class"),
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
    assert "/boots/0/sizes/1/width: catalog-range-inverted" in done.stdout


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
    assert done.returncode == 1
    assert "my-boots" in done.stdout


def test_nothing_is_written_over(begun: Path) -> None:
    again = CliRunner().invoke(main, ["new", "my-boots", str(begun)])
    assert again.exit_code == 2
    assert "not empty" in again.output


def test_the_plugins_that_come_with_hooflast_pass(tmp_path: Path) -> None:
    assert check("demo", folder=tmp_path).returncode == 0
