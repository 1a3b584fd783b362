"""Deploy: what runs Hooflast for good names settings, commands and files that there are.

No container engine builds the images here: the files are read, not run. systemd's own checker is asked where it is
installed.
"""

import configparser
import re
import shlex
import shutil
import subprocess
from pathlib import Path
from typing import Any

import click
import pytest
import yaml
from tests.project.checkout import ROOT

from hooflast.access.issuing import CLIENT
from hooflast.cli.command_line import build
from hooflast.settings import read_settings
from hooflast.texts import load_texts

DEPLOY = ROOT / "deploy"
CONTAINERFILE = (DEPLOY / "Containerfile").read_text("utf-8")
COMPOSE: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text("utf-8"))
VARIABLE = re.compile(r"\$\{[A-Z_]+:[?-][^}]*\}")


def unit() -> configparser.ConfigParser:
    parser = configparser.ConfigParser(strict=False, interpolation=None, delimiters=("=",))
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read(DEPLOY / "hooflast.service", "utf-8")
    return parser


def unit_environment() -> dict[str, str]:
    lines = (DEPLOY / "hooflast.service").read_text("utf-8").splitlines()
    told = [line.removeprefix("Environment=") for line in lines if line.startswith("Environment=")]
    return dict(one.split("=", 1) for one in told)


def container_environment() -> dict[str, str]:
    (block,) = re.findall(r"^ENV ((?:.*\\\n)*.*)$", CONTAINERFILE, re.MULTILINE)
    return dict(one.split("=", 1) for one in shlex.split(block.replace("\\\n", " ")))


def instructions() -> list[tuple[str, str]]:
    """The instructions of the container file, each with what follows it."""
    lines = re.sub(r"\\\n", " ", re.sub(r"^#.*\n", "", CONTAINERFILE, flags=re.MULTILINE)).splitlines()
    return [(line.split(" ", 1)[0], line.split(" ", 1)[1]) for line in lines if line.strip()]


def require_command(written: str) -> None:
    """A command line of Hooflast names a command and options that there are."""
    program, *words = shlex.split(written)
    assert Path(program).name == "hooflast"
    command: click.Command = build(load_texts("en"))
    for word in words:
        if isinstance(command, click.Group):
            assert word in command.commands, written
            command = command.commands[word]
        elif word.startswith("--"):
            assert word in {flag for option in command.params for flag in option.opts}, written


def test_the_settings_of_the_unit_the_container_and_the_services_can_be_read() -> None:
    services = [
        {name: VARIABLE.sub("", str(value)) for name, value in service.get("environment", {}).items()}
        for service in COMPOSE["services"].values()
    ]
    found = 0
    for environment in (unit_environment(), container_environment(), *services):
        ours = {name: value for name, value in environment.items() if name.startswith("HOOFLAST_")}
        read_settings(ours)
        found += len(ours)
    assert found >= 10


def test_what_is_run_is_a_command() -> None:
    require_command(unit()["Service"]["ExecStart"])
    told = dict(instructions())
    require_command(shlex.join([*yaml.safe_load(told["ENTRYPOINT"]), *yaml.safe_load(told["CMD"])]))
    for one in COMPOSE["services"]["tables"]["entrypoint"][-1].split("&&"):
        require_command(one.strip())
    shown = re.search(r"docker compose run --rm (hooflast .*)", (DEPLOY / "compose.yaml").read_text("utf-8"))
    assert shown is not None
    require_command(shown[1])
    assert CLIENT.fullmatch(shown[1].rsplit(" ", 1)[-1])


def test_what_is_copied_into_the_image_is_in_the_checkout() -> None:
    copied = [words.split()[:-1] for name, words in instructions() if name == "COPY" and not words.startswith("--from")]
    assert copied
    for source in (source for sources in copied for source in sources):
        assert (ROOT / source).exists(), source
    plugins = re.search(r'^ARG PLUGINS="([^"]*)"', CONTAINERFILE, re.MULTILINE)
    assert plugins is not None
    assert set(plugins[1].split()) == {
        project.parent.name for project in ROOT.glob("plugins/*/pyproject.toml") if project.parent.name != "author_kit"
    }


def test_the_image_runs_as_nobody_in_particular_and_installs_by_hash() -> None:
    told = instructions()
    assert [words for name, words in told if name == "USER"] == ["hooflast"]
    assert any("--require-hashes" in words for name, words in told if name == "RUN")
    assert [words.split()[0] for name, words in told if name == "FROM"] == ["python:3.13-slim"] * 2


def test_each_service_waits_for_what_it_needs_and_mounts_files_that_there_are() -> None:
    for service in COMPOSE["services"].values():
        assert set(service.get("depends_on", {})) <= set(COMPOSE["services"])
        for mounted in service.get("volumes", ()):
            source = mounted.split(":")[0]
            assert source in COMPOSE["volumes"] or (DEPLOY / source).is_file()
    roles = (DEPLOY / "database-roles.sh").read_text("utf-8")
    users = set(re.findall(r"//(\w+):", (DEPLOY / "compose.yaml").read_text("utf-8")))
    assert users == set(re.findall(r"create role (\w+)", roles))


def test_the_script_is_one_a_shell_reads() -> None:
    subprocess.run(["sh", "-n", str(DEPLOY / "database-roles.sh")], check=True)


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="systemd is not installed")
def test_systemd_knows_every_line_of_the_unit(tmp_path: Path) -> None:
    there = (DEPLOY / "hooflast.service").read_text("utf-8").replace("/opt/hooflast/bin/hooflast", "/bin/true")
    (tmp_path / "hooflast.service").write_text(there, "utf-8")
    checked = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(tmp_path / "hooflast.service")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "hooflast.service:" not in checked.stderr, checked.stderr
