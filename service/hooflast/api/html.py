"""HTML: the frame of the service's own pages. No script, no font and no picture is fetched from anywhere."""

import re
from html import escape
from typing import Final

from hooflast.api.policy import content_policy
from hooflast.draw.palette import DARK, LIGHT

STYLE: Final = (
    f":root{{{LIGHT.properties()}color-scheme:light dark}}"
    f"@media (prefers-color-scheme:dark){{:root{{{DARK.properties()}}}}}"
    """
body { background: var(--paper); color: var(--ink); font: 1.0625rem/1.55 'Iowan Old Style', 'Palatino Linotype',
  Palatino, 'Book Antiqua', Georgia, Cambria, 'Times New Roman', serif; margin: 0 auto; max-width: 60rem;
  padding: 1.5rem; }
h1, h2, h3 { line-height: 1.25; }
h2 { border-bottom: 3px double var(--rust); margin-top: 2.5rem; padding-bottom: .25rem; }
a { color: var(--moss); text-underline-offset: .18em; }
:focus-visible { outline: 3px solid var(--rust); outline-offset: 2px; }
code, pre { font-family: ui-monospace, monospace; font-size: .9rem; overflow-wrap: anywhere; }
pre { border: 1px solid var(--hair); overflow-x: auto; padding: .75rem; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid var(--hair); padding: .35rem .6rem .35rem 0; text-align: left; vertical-align: top; }
th { font-weight: 600; white-space: nowrap; }
section { margin: 1.75rem 0; }
nav li { display: inline-block; margin-right: 1rem; }
nav ul { padding: 0; }
"""
)
_CODE: Final = re.compile(r"`([^`]+)`")
CONTENT_POLICY: Final = content_policy([STYLE])


def prose(text: str) -> str:
    """Plain text as HTML; what stands between backticks is code."""
    return _CODE.sub(r"<code>\1</code>", escape(text))


def page(title: str, *, paragraphs: tuple[str, ...] = (), inside: str = "", language: str = "en") -> bytes:
    """A whole page. `title` and `paragraphs` are plain text, `inside` is HTML."""
    said = "".join(f"<p>{prose(paragraph)}</p>" for paragraph in paragraphs if paragraph)
    return (
        f'<!doctype html><html lang="{escape(language)}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)} · Hooflast</title><style>{STYLE}</style></head>"
        f"<body><main><h1>{escape(title)}</h1>{said}{inside}</main></body></html>\n"
    ).encode()
