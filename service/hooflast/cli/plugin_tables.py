"""Plugin tables: what became of every catalog plugin, and of every row that it read, for a terminal."""

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.loading import PluginReport
from hooflast.catalog.plugin import Fate
from hooflast.catalog.validation import fault_point
from hooflast.errors import Fault
from hooflast.exchange.fault_texts import tell_at_source
from hooflast.texts import Texts


def print_plugins(reports: Sequence[PluginReport], texts: Texts, *, console: Console) -> None:
    """Every plugin found, with its editions and what went wrong."""
    table = Table()
    for column in ("plugin", "version", "editions", "faults"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for report in reports:
        editions = ", ".join(day.isoformat() for day in report.editions)
        wrong = "\n".join(_wrong(report, texts))
        table.add_row(Text(report.plugin), Text(report.version), Text(editions), Text(wrong))
    console.print(table)


def print_rows(reports: Sequence[PluginReport], texts: Texts, *, console: Console) -> None:
    """Every row that a plugin read, and what became of it."""
    table = Table()
    for column in ("plugin", "row", "fate", "why"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for report in reports:
        for row in report.rows:
            table.add_row(Text(report.plugin), Text(row.place), Text(texts.say(f"fate.{row.fate}")), Text(row.why))
    console.print(table)


def plain_report(report: PluginReport, *, texts: Texts) -> dict[str, object]:
    """A report for programs."""
    return {
        "plugin": report.plugin,
        "version": report.version,
        "editions": [day.isoformat() for day in report.editions],
        "refused": [day.isoformat() for day in report.refused],
        "faults": [_plain_fault(fault, texts=texts) for fault in report.faults],
        "waits_for": list(report.waits_for),
        "rows": [{"place": row.place, "fate": row.fate, "why": row.why} for row in report.rows],
        "failure": report.failure.reason if report.failure else None,
    }


def _wrong(report: PluginReport, texts: Texts) -> Iterator[str]:
    if report.waits_for:
        yield texts.say("cli.plugins.waits-for", {"names": ", ".join(report.waits_for)})
    if report.failure:
        yield report.failure.reason
    if report.refused:
        yield texts.say("cli.plugins.refused", {"editions": ", ".join(day.isoformat() for day in report.refused)})
    for fault in report.faults:
        yield tell_at_source(fault, texts=texts)
    if refused := sum(row.fate is Fate.REFUSED for row in report.rows):
        yield texts.say("cli.plugins.rows-refused", {"count": refused})


def _plain_fault(fault: Fault, *, texts: Texts) -> dict[str, str]:
    point = fault_point(fault, plugin="")
    text = texts.say(f"fault.{fault.code}", fault.facts)
    return {"source": point.source, "place": point.place, "code": fault.code, "text": text}
