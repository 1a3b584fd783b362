"""Fresh checkout: the first of the two commands, from nothing but PATH to an answered call and a graceful stop."""

import json
import os
import re
import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from threading import Timer

import pytest
from tests.project.checkout import ROOT

LONGEST_START_SECONDS = 900
pytestmark = pytest.mark.full


@pytest.fixture
def fresh(tmp_path: Path) -> Path:
    """A copy of every file that is, or would be, under version control."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    for name in filter(None, listed.stdout.decode().split("\0")):
        if (ROOT / name).is_file():
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, tmp_path / name)
    return tmp_path


@pytest.fixture
def service(fresh: Path) -> Iterator[subprocess.Popen[str]]:
    """`serve` on its way up in the copy, with nothing but PATH set."""
    process = subprocess.Popen(
        [sys.executable, "deploy/run.py", "serve", "--", "--port", "0"],
        cwd=fresh,
        env={"PATH": os.environ["PATH"]},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    too_long = Timer(LONGEST_START_SECONDS, process.kill)
    too_long.start()
    try:
        yield process
    finally:
        too_long.cancel()
        process.kill()
        process.communicate()


def test_the_service_starts_answers_the_call_it_shows_and_stops(service: subprocess.Popen[str]) -> None:
    assert service.stdout is not None
    said = ""
    for line in service.stdout:
        said += line
        if line.startswith("curl "):
            break
    else:
        pytest.fail(f"no call was shown:\n{said}")
    answer = json.loads(called(line))
    service.terminate()
    said += service.stdout.read()
    assert service.wait() == 0, said
    assert [hoof["limb"] for hoof in answer["hooves"]] == ["LF", "RF", "LH", "RH"]
    assert answer["receipt"]


def called(call: str) -> bytes:
    """What the service answers to the call it shows."""
    parts = re.fullmatch(r"curl -s (\S+) -H '([\w-]+): ([^']+)' -d '([^']+)'\n", call)
    assert parts is not None, call
    address, name, value, body = parts.groups()
    request = urllib.request.Request(address, data=body.encode(), headers={name: value})
    with urllib.request.urlopen(request, timeout=LONGEST_START_SECONDS) as response:
        content: bytes = response.read()
    return content
