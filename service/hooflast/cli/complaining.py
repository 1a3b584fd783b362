"""Complaining: an error told as sentences, on standard error.

`error.<code>` is said of errors that only whoever runs the service meets, `problem.<code>.detail` of those that an
answer over HTTP tells as well, and both are filled with the error's fields.
"""

from rich.console import Console

from hooflast.errors import HooflastError, InputRefused
from hooflast.exchange.fault_texts import tell_fault
from hooflast.settings import SettingsRefused
from hooflast.store import SchemaNotCurrent
from hooflast.texts import Texts


def complain(error: HooflastError, texts: Texts) -> None:
    """Tell what went wrong, and of an input every fault with its place."""
    console = Console(stderr=True, soft_wrap=True, highlight=False, markup=False)
    if not isinstance(error, InputRefused) or isinstance(error, SettingsRefused):
        console.print(sentence_of(error, texts))
        return
    console.print(texts.say("cli.refused", {"count": len(error.faults)}))
    for fault in error.faults:
        told = tell_fault(fault, texts=texts)
        console.print(f"  {told.place}: {told.wrong} {told.accepted}")


def sentence_of(error: HooflastError, texts: Texts) -> str:
    """What an error says; an error that has no text says it in its own words, which are English."""
    if isinstance(error, SchemaNotCurrent) and error.found is None:
        return texts.say("cli.database.no-tables")
    facts = {name: value for name, value in vars(error).items() if isinstance(value, str | int | float)}
    for key in (f"error.{error.code}", f"problem.{error.code}.detail"):
        if texts.has(key):
            return texts.say(key, facts)
    return str(error)
