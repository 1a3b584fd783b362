"""Templating: the templates of the pages, and the one style they all have, which goes with the pictures."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from hooflast.api.pages.choices import field_id
from hooflast.draw.palette import DARK, LIGHT, PRINT
from hooflast.errors import Fact
from hooflast.texts import Texts

_NO_FACTS: Final[Mapping[str, Fact]] = {}


def render(template: str, *, texts: Texts, base: str, **values: object) -> str:
    """A page. `base` stands before every address; in a template `say` says a text by its key."""

    def say(key: str, facts: Mapping[str, Fact] = _NO_FACTS, **more: Fact) -> str:
        return texts.say(key, {**facts, **more})

    return _environment().get_template(template).render(texts=texts, say=say, base=base, style=style(), **values)


@cache
def style() -> str:
    """The style of the pages."""
    colours = (
        f":root{{{LIGHT.properties()}color-scheme:light dark}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{DARK.properties()}}}}}\n"
        f"@media print{{:root{{{PRINT.properties()}}}}}\n"
    )
    rules = (files("hooflast.api.pages") / "style.css").read_text("utf-8")
    return colours + rules


@cache
def _environment() -> Environment:
    environment = Environment(
        autoescape=True,
        loader=PackageLoader("hooflast.api.pages"),
        lstrip_blocks=True,
        trim_blocks=True,
        undefined=StrictUndefined,
    )
    environment.filters["field_id"] = field_id
    return environment
