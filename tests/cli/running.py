"""Running: the command line run in this process, with its exit code and what it wrote."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from hooflast.cli import main


@dataclass(frozen=True)
class Ran:
    """What one run of the command line came to."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


def running(capfd: pytest.CaptureFixture[str]) -> Run:
    """A function that runs the command line."""

    def run(*arguments: str) -> Ran:
        code = 0
        try:
            main(arguments)
        except SystemExit as stopped:
            code = int(stopped.code or 0)
        out, err = capfd.readouterr()
        return Ran(code=code, out=out, err=err)

    return run
