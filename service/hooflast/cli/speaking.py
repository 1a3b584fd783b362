"""Speaking: what every command is handed: the sentences to say things with, and the settings."""

from dataclasses import dataclass

import click

from hooflast.settings import Settings
from hooflast.texts import Texts


@dataclass(frozen=True, slots=True, kw_only=True)
class Speaking:
    """The reader's language and the settings of this run."""

    texts: Texts
    settings: Settings


speaking = click.make_pass_decorator(Speaking)
