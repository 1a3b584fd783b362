"""Telling: what a catalog release in the store is now, and what to do next with it."""

from rich.console import Console
from rich.text import Text

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.naming import short_id
from hooflast.cli.speaking import Speaking
from hooflast.errors import Fact
from hooflast.texts import Texts


def tell_kept(kept: KeptRelease, *, speak: Speaking) -> None:
    """What a catalog release is now, and what to do next."""
    status = status_of(kept, texts=speak.texts)
    facts: dict[str, Fact] = {"edition": kept.edition, "release": short_id(kept.id), "now": status}
    tell("cli.releases.now", facts, speak=speak)
    if speak.texts.has(f"cli.releases.next.{kept.status}"):
        tell(f"cli.releases.next.{kept.status}", facts, speak=speak)


def status_of(kept: KeptRelease, *, texts: Texts) -> str:
    """How far it has come, and whether it is served or gone."""
    said = texts.say(f"status.{kept.status}")
    if kept.is_active:
        return f"{said}, {texts.say('cli.releases.active')}"
    return f"{said}, {texts.say('cli.releases.gone')}" if kept.is_gone else said


def tell(key: str, facts: dict[str, Fact], *, speak: Speaking) -> None:
    """One sentence on a line of its own."""
    Console(highlight=False, soft_wrap=True).print(Text(speak.texts.say(key, facts)))
