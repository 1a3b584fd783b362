"""Raised: what a plugin raised, in words: in which of its steps, where in its own code, and what it says."""

from traceback import walk_tb
from typing import Final

from pydantic_core import ValidationError

from hooflast.catalog.plugin_settings import without_input

LONGEST_REASON: Final = 2000
STEPS: Final = ("discover", "fetch", "map", "validate")
_NOT_THE_PLUGINS: Final = ("hooflast.catalog", "importlib", "__main__")


def tell_raised(error: BaseException) -> str:
    """What was raised, and where; no longer than LONGEST_REASON, and of characters that can be written."""
    told = f"{_where(error)}it raised {_what(error)}"
    return told[:LONGEST_REASON].encode("utf-8", "replace").decode("utf-8")


def _what(error: BaseException) -> str:
    kind = type(error).__name__
    try:
        said = "; ".join(without_input(error)) if isinstance(error, ValidationError) else str(error)
    except Exception:
        return f"{kind}, which cannot say what it is"
    return f"{kind}: {said}"


def _where(error: BaseException) -> str:
    """The plugin's step and the last line of its own package that was run; empty where it was none of its lines."""
    lines = [
        (str(frame.f_globals.get("__name__", "")), frame.f_code.co_name, number)
        for frame, number in walk_tb(error.__traceback__)
    ]
    own = [line for line in lines if not line[0].startswith(_NOT_THE_PLUGINS)]
    if not own:
        return ""
    package = own[0][0].partition(".")[0]
    module, _, number = [line for line in own if line[0].partition(".")[0] == package][-1]
    place = f"{module}, line {number}"
    if own[0][1] == "<module>":
        return f"while it was loaded ({place}), "
    step = next((name for _, name, _ in own if name in STEPS), None)
    return f"at {place}, " if step is None else f"in `{step}` ({place}), "
