"""Telling: the suite's results as sentences, a line each, with what to do below those that do not hold."""

from textwrap import indent
from warnings import WarningMessage

import click
import pytest

FORM = "{word:<7}{sentence}."
MARGIN = " " * 7


class Telling:
    """Takes the place of pytest's own report."""

    def __init__(self) -> None:
        self.counts = {"ok": 0, "FAILS": 0, "-": 0}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """One test came to an end, or could not begin."""
        if report.when != "call" and report.passed:
            return
        word = "ok" if report.passed else "-" if report.skipped else "FAILS"
        self.counts[word] += 1
        click.echo(FORM.format(word=word, sentence=sentence_of(report.nodeid)))
        if report.failed:
            click.echo(indent(report.longreprtext, MARGIN))
        elif report.skipped and isinstance(report.longrepr, tuple):
            click.echo(MARGIN + "Not looked at: " + report.longrepr[2].removeprefix("Skipped: "))

    def pytest_warning_recorded(self, warning_message: WarningMessage) -> None:
        """A test noticed something that is no fault."""
        click.echo(indent(f"Look again: {warning_message.message}", MARGIN))

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Tests were found, or not."""
        if report.failed:
            click.echo(report.longreprtext)

    def pytest_internalerror(self, excrepr: object) -> None:
        """The suite itself has a fault."""
        click.echo(str(excrepr))

    def pytest_sessionfinish(self) -> None:
        """Everything was looked at."""
        said = f"{self.counts['ok']} of {sum(self.counts.values())} hold"
        click.echo(f"\n{said}, {self.counts['FAILS']} fail, {self.counts['-']} could not be looked at.")


def sentence_of(nodeid: str) -> str:
    """`suite.py::test_it_says_what_it_is` as `It says what it is`."""
    return nodeid.rpartition("::")[2].removeprefix("test_").replace("_", " ").capitalize()
