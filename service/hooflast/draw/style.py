"""Style: how each kind of mark looks, as CSS scoped to one picture; kinds differ by more than their colour.

The colours are custom properties of the picture's root: light, dark for readers who prefer it, black on white in print.
"""

from typing import Final

from hooflast.draw.palette import DARK, LIGHT, PRINT

WIDEST: Final = "36rem"
"""How wide a picture grows of itself; a page's own style overrides it."""

ON_PAPER: Final = "max-width:13cm;max-height:24cm;break-inside:avoid"
"""How a picture keeps to one sheet of paper of itself."""

_SERIF: Final = "'Iowan Old Style','Palatino Linotype',Palatino,'Book Antiqua',Georgia,Cambria,'Times New Roman',serif"

_RULES: Final = {
    "text": f"font-family:{_SERIF};font-variant-numeric:lining-nums;direction:ltr;fill:var(--ink);"
    "stroke:var(--paper);stroke-width:3px;stroke-linejoin:round;paint-order:stroke",
    ".aside": "fill:var(--slate)",
    ".boot": "fill:var(--moss)",
    ".alert": "fill:var(--rust)",
    ".strong": "font-weight:700",
    ".paper": "fill:var(--paper)",
    ".line": "fill:none;stroke-linecap:round;stroke-linejoin:round",
    ".hair": "stroke:var(--hair);stroke-width:.8",
    ".dots": "stroke:var(--slate);stroke-width:1;stroke-dasharray:.1 4",
    ".margin": "stroke:var(--rust);stroke-width:.8",
    ".edge": "stroke:var(--slate);stroke-width:1",
    ".leader": "stroke:var(--slate);stroke-width:.9",
    ".size": "fill:var(--slate);fill-opacity:.05;stroke:var(--slate);stroke-width:1",
    ".chosen": "fill:var(--moss);fill-opacity:var(--moss-tint);stroke:var(--moss);stroke-width:2.4",
    ".hatch": "stroke:var(--moss);stroke-width:.8",
    ".band": "fill:var(--slate);fill-opacity:.05",
    ".chosen-band": "fill:var(--moss);fill-opacity:var(--moss-tint)",
    ".heavy": "stroke:var(--moss);stroke-width:2.4",
    ".past": "stroke:var(--moss);stroke-width:1.2",
    ".likely": "fill:var(--rust);fill-opacity:var(--rust-tint);stroke:var(--rust);stroke-width:1.3",
    ".sure": "fill:none;stroke:var(--rust);stroke-width:1.1;stroke-dasharray:4.5 3",
    ".doubt": "fill:var(--rust);fill-opacity:var(--rust-tint)",
    ".dot": "fill:var(--rust)",
    ".fore": "fill:var(--ink)",
    ".hind": "fill:var(--paper);stroke:var(--ink);stroke-width:1.8",
    ".hoof": "stroke:var(--ink);stroke-width:1.9",
    ".inner": "stroke:var(--slate);stroke-width:.9",
    ".largest": "stroke:var(--moss);stroke-width:1.5;stroke-dasharray:7 3.5",
    ".smallest": "stroke:var(--moss);stroke-width:1.7;stroke-dasharray:.1 3.4",
    ".range": "fill:var(--moss);fill-opacity:var(--moss-tint);stroke:var(--moss);stroke-width:1",
    ".missed": "fill:var(--rust);fill-opacity:var(--rust-tint);stroke:var(--rust);stroke-width:1.7",
    ".speck": "stroke:var(--ink);stroke-width:2.6",
    ".wished": "stroke:var(--rust);stroke-width:1.3;stroke-dasharray:5 3",
    ".frog": "fill:var(--slate);fill-opacity:.08",
    ".small .hoof": "stroke-width:1.3",
    ".small .inner": "stroke-width:.6",
    ".small .largest": "stroke-width:1.1;stroke-dasharray:4 2",
    ".measure": "stroke:var(--ink);stroke-width:1",
    ".tally": "stroke:var(--ink);stroke-width:2.2",
    ".mark": "stroke:var(--rust);stroke-width:1.7",
}


def style_sheet(prefix: str) -> str:
    """The style of the picture whose root has the id `prefix`."""
    root = f"#{prefix}"
    return "\n".join(
        (
            f":where({root}){{display:block;max-width:{WIDEST};margin-inline:auto}}",
            f"{root}{{{LIGHT.properties()}}}",
            f"@media (prefers-color-scheme:dark){{{root}{{{DARK.properties()}}}}}",
            f"@media print{{{root}{{{PRINT.properties()}}}:where({root}){{{ON_PAPER}}}}}",
            *(f"{root} {kind}{{{rule}}}" for kind, rule in _RULES.items()),
        )
    )
