"""Change tables: what changed between two catalog releases, and for which hooves, for a terminal."""

from collections.abc import Iterable, Iterator
from typing import Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.comparing import (
    Change,
    EdgeMove,
    FieldChange,
    Plain,
    RecordChange,
    ReleaseChanges,
    SizeChange,
)
from hooflast.exchange.effects_document import effects_text
from hooflast.matching.release_effects import BestSize, HorseEffects
from hooflast.texts import Texts

SIGN: Final = {Change.ADDED: "+", Change.REMOVED: "-", Change.CHANGED: "~"}
STYLE: Final = {Change.ADDED: "green", Change.REMOVED: "red", Change.CHANGED: "yellow"}


def print_counts(changes: ReleaseChanges, texts: Texts, *, console: Console) -> None:
    """How many records were added, removed and changed, in one line."""
    counts = {change: sum(one.change is change for one in changes.records) for change in Change}
    facts = {change.value: count for change, count in counts.items()}
    console.print(Text(texts.say("cli.diff.counts" if changes.records else "cli.diff.same", dict(facts))))


def print_changes(changes: ReleaseChanges, texts: Texts, *, console: Console) -> None:
    """Each record with what became of it, its sizes below it."""
    print_counts(changes, texts, console=console)
    for record in changes.records:
        said = f"{SIGN[record.change]} {texts.say(f'record.{record.kind}')} {record.name} ({record.id})"
        console.print(Text(said, style=STYLE[record.change]))
        for line in _of_record(record, texts):
            console.print(Text(f"    {line}"))


def print_effects(effects: Iterable[HorseEffects], texts: Texts, *, console: Console) -> None:
    """Each hoof that is answered otherwise, with both answers, and how many of all that were."""
    table = Table(title=Text(texts.say("cli.diff.effects-title")), title_justify="left", title_style="bold")
    for column in ("horse", "hoof", "before", "after", "what"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    asked = changed = 0
    for horse in effects:
        asked += len(horse.question.hooves)
        changed += len(horse.hooves)
        for hoof in horse.hooves:
            table.add_row(
                Text(horse.question.horse_name or str(horse.place + 1)),
                Text(texts.say(f"limb.{hoof.limb}")),
                Text(_best(hoof.before, texts)),
                Text(_best(hoof.after, texts)),
                Text(effects_text(hoof, texts=texts)),
            )
    if changed:
        console.print(table)
    console.print(Text(texts.say("cli.diff.effects", {"changed": changed, "count": asked})))
    console.print(Text(texts.say("caution.chances-not-calibrated"), style="dim"))


def _of_record(record: RecordChange, texts: Texts) -> Iterator[str]:
    if record.former_name is not None:
        yield texts.say("cli.diff.renamed", {"former_name": record.former_name})
    for field in record.changed:
        yield _field(field, texts)
    for size in record.sizes:
        yield from _of_size(size, texts)
    if record.order:
        yield texts.say("cli.diff.order", {"order_list": ",".join(record.order)})


def _of_size(size: SizeChange, texts: Texts) -> Iterator[str]:
    said = f"{SIGN[size.change]} {texts.say('cli.diff.size', {'code': size.code})}"
    parts = [*(_edge(edge, texts) for edge in size.edges), *(_field(field, texts) for field in size.changed)]
    yield f"{said}: {'; '.join(parts)}" if parts else said


def _edge(move: EdgeMove, texts: Texts) -> str:
    before, after = (
        texts.say("cli.diff.none") if end is None else texts.length(end) for end in (move.before_mm, move.after_mm)
    )
    facts = {"axis": move.axis.value, "edge": move.edge.value, "before": before, "after": after}
    return texts.say("cli.diff.edge", dict(facts))


def _field(field: FieldChange, texts: Texts) -> str:
    facts = {"field": field.name, "before": _value(field.before, texts), "after": _value(field.after, texts)}
    return texts.say("cli.diff.field", dict(facts))


def _value(value: Plain, texts: Texts) -> str:
    if value is None or value in ("", ()):
        return texts.say("cli.diff.none")
    if isinstance(value, float):
        return texts.number(value)
    return ", ".join(value) if isinstance(value, tuple) else value


def _best(best: BestSize | None, texts: Texts) -> str:
    if best is None:
        return texts.say("cli.diff.none")
    return f"{best.maker.name} {best.boot.name} {best.size} {texts.chance(best.fit_chance)}"
