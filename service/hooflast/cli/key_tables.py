"""Key tables: keys and the log of what was done, for a terminal; readable from 80 columns on.

Ids stand in whole where they are to be copied. Those of whoever did something, and of the request, are cut to their
last letters where there is no room, unless two of them would look alike then.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from typing import Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.access.key import Key
from hooflast.store.audit import AuditEntry
from hooflast.texts import Texts

ID_WIDTH: Final = 36
LETTERS_OF_AN_ID: Final = 12
WHOLE_IDS_FROM: Final = 106
"""So wide is the log with a key's whole id beside what it was done to."""
_OF_A_KEY: Final = "key:"

Shorten = Callable[[str], str]


def print_keys(found: Sequence[Key], texts: Texts, *, console: Console, now: datetime) -> None:
    """Each key with its name, its id and its pages one below the other."""
    table = Table(show_lines=True)
    table.add_column(texts.say("cli.keys.column.key"), overflow="fold", min_width=ID_WIDTH)
    for column in ("kind", "state"):
        table.add_column(texts.say(f"cli.keys.column.{column}"), overflow="fold")
    for key in found:
        table.add_row(
            Text("\n".join((key.name, key.id, *key.origins))),
            f"{texts.say(f'key_kind.{key.kind}')}, {texts.say(f'key_mode.{key.mode}')}",
            texts.say(f"key_state.{key.state(now)}"),
        )
    console.print(table)


def print_log(entries: Sequence[AuditEntry], texts: Texts, *, console: Console) -> None:
    """Each entry in two lines: what was done and to what, who did it and in which request."""
    is_wide = console.width >= WHOLE_IDS_FROM
    table = Table(show_lines=True)
    table.add_column(f"{texts.say('cli.keys.column.at')}\n", no_wrap=True)
    for column in (("deed", "subject"), ("who", "request")):
        heading = "\n".join(texts.say(f"cli.keys.column.{part}") for part in column)
        table.add_column(heading, overflow="fold", min_width=ID_WIDTH if column[0] == "deed" else None)
    who, request = (str, str) if is_wide else (shortening(map(_who, entries)), shortening(map(_request, entries)))
    for entry in entries:
        at = entry.actor.at.astimezone(UTC)
        table.add_row(
            f"{at:%Y-%m-%d %H:%M:%S}",
            Text(f"{texts.say(f'deed.{entry.deed}')}\n{entry.subject}"),
            Text(f"{who(_who(entry))}\n{request(_request(entry))}"),
        )
    console.print(table)


def shortening(ids: Iterable[str]) -> Shorten:
    """How ids are cut: to their last letters, or not at all where two of them would look alike."""
    cut = {one: _cut(one) for one in ids}
    return _cut if len(set(cut.values())) == len(cut) else str


def _cut(written: str) -> str:
    """An id, alone or after `key:`, cut to its last letters; anything else as it is."""
    prefix = _OF_A_KEY if written.startswith(_OF_A_KEY) else ""
    bare = written.removeprefix(prefix)
    return f"{prefix}…{bare[-LETTERS_OF_AN_ID:]}" if len(bare) == ID_WIDTH else written


def _who(entry: AuditEntry) -> str:
    return entry.actor.who


def _request(entry: AuditEntry) -> str:
    return entry.actor.request_id or ""
