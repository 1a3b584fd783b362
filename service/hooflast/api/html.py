"""HTML: the frame of the service's own pages. No script, no font and no picture is fetched from anywhere."""

from html import escape
from typing import Final

from hooflast.api.policy import content_policy

STYLE: Final = """
:root { color-scheme: light dark; --ink: #24302b; --paper: #fbfaf6; --rule: #c9cfc4; --accent: #2f6652; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #e4e7e1; --paper: #171c1a; --rule: #3d4742; --accent: #86c4ab; }
}
body { background: var(--paper); color: var(--ink); font: 1rem/1.55 system-ui, sans-serif; margin: 0 auto;
  max-width: 56rem; padding: 1.5rem; }
h1, h2, h3 { line-height: 1.25; }
h2 { border-bottom: 1px solid var(--rule); margin-top: 2.5rem; padding-bottom: .25rem; }
a { color: var(--accent); }
code, pre { font-family: ui-monospace, monospace; font-size: .9rem; overflow-wrap: anywhere; }
pre { border: 1px solid var(--rule); overflow-x: auto; padding: .75rem; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid var(--rule); padding: .35rem .6rem .35rem 0; text-align: left; vertical-align: top; }
th { font-weight: 600; white-space: nowrap; }
section { margin: 1.75rem 0; }
nav li { display: inline-block; margin-right: 1rem; }
nav ul { padding: 0; }
"""
CONTENT_POLICY: Final = content_policy([STYLE])


def page(title: str, *, paragraphs: tuple[str, ...] = (), inside: str = "", language: str = "en") -> bytes:
    """A whole page. `title` and `paragraphs` are plain text, `inside` is HTML."""
    said = "".join(f"<p>{escape(paragraph)}</p>" for paragraph in paragraphs if paragraph)
    return (
        f'<!doctype html><html lang="{escape(language)}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)} · Hooflast</title><style>{STYLE}</style></head>"
        f"<body><main><h1>{escape(title)}</h1>{said}{inside}</main></body></html>\n"
    ).encode()
