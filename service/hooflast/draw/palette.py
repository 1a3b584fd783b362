"""Palette: the colours of a picture on screen, in the dark and in print, and how strong its tints are.

Text and every line that carries meaning stand out from the paper, tinted or not, by a contrast of 4.5 : 1 or more
(WCAG 2.2, success criteria 1.4.3 and 1.4.11; the tests compute it). `hair` only rules the page.
"""

from dataclasses import dataclass, fields
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours as #rrggbb, and opacities. Ink is the hoof, moss the boot, rust the doubt, slate all that is aside."""

    paper: str
    ink: str
    slate: str
    moss: str
    rust: str
    hair: str
    moss_tint: float
    rust_tint: float

    def properties(self) -> str:
        """The palette as CSS custom properties."""
        return "".join(f"--{field.name.replace('_', '-')}:{getattr(self, field.name)};" for field in fields(self))


LIGHT: Final = Palette(
    paper="#f7f2e7",
    ink="#2b2a24",
    slate="#4b5660",
    moss="#49601f",
    rust="#93401c",
    hair="#d9cfb9",
    moss_tint=0.13,
    rust_tint=0.13,
)
DARK: Final = Palette(
    paper="#1f221d",
    ink="#ece5d5",
    slate="#abb6bf",
    moss="#b0c983",
    rust="#e8a27d",
    hair="#3d4238",
    moss_tint=0.14,
    rust_tint=0.16,
)
PRINT: Final = Palette(
    paper="#ffffff",
    ink="#000000",
    slate="#000000",
    moss="#000000",
    rust="#000000",
    hair="#b0b0b0",
    moss_tint=0.0,
    rust_tint=0.0,
)
