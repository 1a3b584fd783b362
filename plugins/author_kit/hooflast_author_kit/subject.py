"""Subject: the plugin that the suite is run on. Everything is asked of it once, within one limit of time."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any

import yaml

from hooflast.catalog.asking import Asked, Limits, ask_plugin
from hooflast.catalog.offers import Edition, Offer
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Held
from hooflast.catalog.reading import Records, read_files
from hooflast.errors import Fault, InputRefused, PluginFailed
from hooflast_author_kit.looking import Looked, look


class NoSubject(Exception):
    """There is no such plugin, or its settings cannot be read."""


@dataclass(frozen=True, kw_only=True)
class Subject:
    """A plugin, the settings it is given, and how long each question to it may take."""

    entry_point: EntryPoint
    settings: dict[str, Any] | None = None
    seconds: float = Limits().seconds

    @cached_property
    def looked(self) -> Looked:
        """What it says of itself."""
        return look(self.entry_point, self.settings, seconds=self.seconds)

    @cached_property
    def offered(self) -> Offer | PluginFailed:
        """What it offers with its settings, or why it could not be asked."""
        try:
            return self.offer()
        except PluginFailed as failure:
            return failure

    @cached_property
    def read(self) -> tuple[tuple[Edition, Records | tuple[Fault, ...]], ...]:
        """Every edition with its records, or with the faults that keep it out."""
        return tuple((edition, _read(edition)) for edition in getattr(self.offered, "editions", ()))

    def offer(self, *, settings: dict[str, Any] | None = None, held: Mapping[str, Held] | None = None) -> Offer:
        """What it offers when it is asked in another way. Raises PluginFailed."""
        asked = Asked(settings=self.settings if settings is None else settings, held=held or {})
        return ask_plugin(self.entry_point, asked, limits=Limits(seconds=self.seconds))


def find_subject(name: str, *, settings_file: str | None, seconds: float) -> Subject:
    """The installed plugin of that name, with the settings in a file. Raises NoSubject."""
    found = tuple(entry_points(group=ENTRY_POINT_GROUP, name=name))
    if not found:
        others = ", ".join(sorted({one.name for one in entry_points(group=ENTRY_POINT_GROUP)})) or "none"
        raise NoSubject(
            f"No catalog plugin called {name!r} is installed; there are: {others}. Is it installed here, with an entry "
            f"point of that name in the group {ENTRY_POINT_GROUP}?"
        )
    if len({one.value for one in found}) > 1:
        raise NoSubject(f"Several catalog plugins are called {name!r}: {', '.join(one.value for one in found)}.")
    settings = None if settings_file is None else read_settings_file(Path(settings_file), plugin=name)
    return Subject(entry_point=found[0], settings=settings, seconds=seconds)


def read_settings_file(file: Path, *, plugin: str) -> dict[str, Any]:
    """A plugin's settings, from a file of its own or from one that says how every plugin is used. Raises NoSubject."""
    try:
        written = yaml.safe_load(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, yaml.YAMLError) as error:
        raise NoSubject(f"{file} cannot be read as YAML: {' '.join(str(error).split())}") from None
    use = written.get(plugin) if isinstance(written, dict) else None
    if isinstance(use, dict) and use.keys() <= {"settings", "priority"}:
        written = use.get("settings", {})
    if not isinstance(written, dict):
        raise NoSubject(f"{file} holds no settings: write `name: value`, a line each.")
    return written


def _read(edition: Edition) -> Records | tuple[Fault, ...]:
    try:
        return read_files(edition.files, plugin="own")
    except InputRefused as refused:
        return refused.faults
