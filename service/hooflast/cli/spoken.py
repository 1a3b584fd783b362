"""Spoken: the commands, which are written with keys, copied with every word said in one language.

A parameter's help is a key. What stands for its value in the help (`FILE`, `RELEASE`, …) is `cli.metavar.<name>`: by
the name of an argument, by the type of an option, or by the key that an option is written with. Choices and shapes
such as `LIMB:width=…` are codes, the same in every language.
"""

from copy import copy
from typing import Final

import click

from hooflast.texts import Texts

METAVAR: Final = "cli.metavar."
NAME_OF_TYPE: Final = {
    "text": "text",
    "integer": "integer",
    "integer range": "integer",
    "float": "number",
    "file": "file",
    "path": "file",
}


def spoken_group(group: click.Group, texts: Texts) -> click.Group:
    """A copy of a group of commands in the language of `texts`."""
    words = {name: texts.say(f"cli.metavar.{name}") for name in ("options", "command", "arguments")}
    return click.Group(
        name=group.name,
        help=texts.say(group.help or ""),
        params=[spoken_parameter(parameter, texts) for parameter in group.params],
        context_settings=group.context_settings,
        options_metavar=f"[{words['options']}]",
        subcommand_metavar=f"{words['command']} [{words['arguments']}]...",
        commands=[
            spoken_group(one, texts) if isinstance(one, click.Group) else _spoken_command(one, texts)
            for one in group.commands.values()
        ],
    )


def _spoken_command(command: click.Command, texts: Texts) -> click.Command:
    return click.Command(
        name=command.name,
        callback=command.callback,
        help=texts.say(command.help or ""),
        params=[spoken_parameter(parameter, texts) for parameter in command.params],
        options_metavar=f"[{texts.say('cli.metavar.options')}]",
    )


def spoken_parameter(parameter: click.Parameter, texts: Texts) -> click.Parameter:
    """A copy of an option or argument in the language of `texts`."""
    said = copy(parameter)
    if isinstance(said, click.Option):
        said.help = texts.say(said.help or "")
        if not said.is_flag:
            said.metavar = _of_option(said, texts)
    else:
        word = texts.say(f"cli.metavar.{said.name}")
        said.metavar = word if said.required else f"[{word}]"
    return said


def _of_option(option: click.Option, texts: Texts) -> str | None:
    if option.metavar is not None:
        return texts.say(option.metavar) if option.metavar.startswith(METAVAR) else option.metavar
    name = NAME_OF_TYPE.get(option.type.name)
    return None if name is None else texts.say(f"cli.metavar.{name}")
