"""Looking: what a plugin says of itself, found in a process of its own, so that one that hangs hangs nobody else.

`look` starts this module as a program; standard input has the question and standard output gets the answer, in JSON.
"""

import os
import subprocess
import sys
from importlib.metadata import EntryPoint
from typing import Any

import msgspec

from hooflast.catalog.asking import child_environment
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, About, CatalogPlugin
from hooflast.catalog.plugin_settings import secrets_of
from hooflast.catalog.raised import tell_raised


class Looked(msgspec.Struct, frozen=True, kw_only=True):
    """What was found. `fault` says why it could not be loaded; the rest is known where it is empty.

    `silent` are the settings without a description, `secrets` what is secret in the settings that were given.
    """

    fault: str = ""
    name: str = ""
    interface: tuple[int, int] = (0, 0)
    has_settings: bool = False
    silent: tuple[str, ...] = ()
    refuses_unknown: bool = True
    secrets: frozenset[str] = frozenset()


class _Question(msgspec.Struct, frozen=True, kw_only=True):
    name: str
    value: str
    settings: dict[str, Any] | None


def look(entry_point: EntryPoint, settings: dict[str, Any] | None, *, seconds: float) -> Looked:
    """What the plugin behind an entry point says of itself."""
    question = _Question(name=entry_point.name, value=entry_point.value, settings=settings)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "hooflast_author_kit.looking"],
            input=msgspec.json.encode(question),
            capture_output=True,
            env=child_environment(),
            timeout=seconds,
            check=False,
        )
        return msgspec.json.decode(done.stdout, type=Looked)
    except subprocess.TimeoutExpired:
        return Looked(
            fault=f"It takes longer than {seconds:g} s to be imported. Do the work in `discover` and `fetch`."
        )
    except msgspec.DecodeError:
        return Looked(fault="Its process ended while it was imported.")


def looked_at(entry_point: EntryPoint, settings: dict[str, Any] | None) -> Looked:
    """The same, here: the plugin is imported."""
    try:
        plugin = entry_point.load()
        return _says(plugin, settings)
    except (Exception, SystemExit, KeyboardInterrupt) as error:
        told = tell_raised(error)
        return Looked(fault=told[0].upper() + told[1:])


def _says(plugin: object, settings: dict[str, Any] | None) -> Looked:
    if isinstance(plugin, type):
        return Looked(fault="The entry point names a class. Let it name an object: `plugin = MyBoots()`.")
    if not isinstance(plugin, CatalogPlugin):
        return Looked(fault="The object lacks about, discover, fetch, map or validate. Subclass CatalogPlugin.")
    about: object = plugin.about
    if not isinstance(about, About):
        return Looked(fault=f"Its about is a {type(about).__name__}, not an About.")
    fields = about.settings.model_fields if about.settings else {}
    first, last = about.interface
    return Looked(
        name=str(about.name),
        interface=(int(first), int(last)),
        has_settings=about.settings is not None,
        silent=tuple(name for name, one in fields.items() if not one.description),
        refuses_unknown=about.settings is None or about.settings.model_config.get("extra") == "forbid",
        secrets=secrets_of(plugin, settings),
    )


def main() -> None:
    """Answer the one question that standard input holds; what the plugin prints goes to standard error."""
    question = msgspec.json.decode(sys.stdin.buffer.read(), type=_Question)
    answer_to = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    entry_point = EntryPoint(name=question.name, value=question.value, group=ENTRY_POINT_GROUP)
    answer_to.write(msgspec.json.encode(looked_at(entry_point, question.settings)))
    answer_to.close()


if __name__ == "__main__":
    main()
