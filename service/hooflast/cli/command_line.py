"""Command line: the commands put together, their words from `texts`, and errors told as sentences."""

import os
import sys
from collections.abc import Sequence
from typing import NoReturn

import click

from hooflast import __version__
from hooflast.cli.bulk import bulk
from hooflast.cli.catalog import catalog, plugins
from hooflast.cli.click_words import click_speaking
from hooflast.cli.complaining import complain
from hooflast.cli.coverage import coverage
from hooflast.cli.cycle import cycle
from hooflast.cli.database import database
from hooflast.cli.hooks import hooks
from hooflast.cli.jobs import jobs
from hooflast.cli.keys import keys
from hooflast.cli.learn import learn
from hooflast.cli.match import match
from hooflast.cli.pad import pad
from hooflast.cli.plan import plan
from hooflast.cli.serve import serve
from hooflast.cli.speaking import Speaking
from hooflast.cli.spoken import spoken_group
from hooflast.cli.trial_set import trial_set
from hooflast.cli.try_on import try_on
from hooflast.errors import HooflastError, InputRefused
from hooflast.settings import SettingsRefused, read_settings
from hooflast.texts import Texts, load_texts

COMMANDS = (
    match,
    bulk,
    try_on,
    cycle,
    pad,
    plan,
    learn,
    trial_set,
    coverage,
    serve,
    catalog,
    plugins,
    jobs,
    keys,
    hooks,
    database,
)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line. Exit code 0: done; 1: it could not be done; 2: something was asked the wrong way."""
    try:
        settings = read_settings(os.environ)
    except SettingsRefused as refused:
        complain(refused, load_texts("en"))
        sys.exit(2)
    texts = load_texts(settings.language)
    try:
        with click_speaking(texts.language):
            build(texts).main(args=arguments, prog_name="hooflast", obj=Speaking(texts=texts, settings=settings))
    except InputRefused as refused:
        complain(refused, texts)
        sys.exit(2)
    except HooflastError as error:
        complain(error, texts)
        sys.exit(1)
    sys.exit(0)


def build(texts: Texts) -> click.Group:
    """All commands, with every help text said in the language of `texts`."""
    group = click.Group(name="hooflast", help="cli.help", context_settings={"max_content_width": 100})
    for command in COMMANDS:
        group.add_command(command)
    version = texts.say("cli.version", {"version": __version__})
    click.version_option(__version__, message=version, help="cli.option.version")(group)
    return spoken_group(group, texts)
