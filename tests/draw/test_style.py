"""Style: contrast in light, dark and print, kinds of mark that differ without colour, and rules that stay at home."""

import re

import pytest
from tests.draw.reading import read
from tests.draw.samples import BRAMBLE, MARLOWICK, Picture, draw, entry, four, size, sizes, sole

from hooflast.draw.palette import DARK, LIGHT, PRINT, Palette
from hooflast.draw.style import style_sheet
from hooflast.fit.remark import Severity

LEAST_CONTRAST = 4.5
PALETTES = [
    pytest.param(LIGHT, id="light"),
    pytest.param(DARK, id="dark"),
    pytest.param(PRINT, id="print"),
]
Colour = tuple[float, float, float]


def colour(written: str) -> Colour:
    red, green, blue = (int(written[place : place + 2], 16) / 255 for place in (1, 3, 5))
    return red, green, blue


def over(paper: Colour, tint: Colour, opacity: float) -> Colour:
    red, green, blue = (below + (above - below) * opacity for below, above in zip(paper, tint, strict=True))
    return red, green, blue


def luminance(shown: Colour) -> float:
    """Relative luminance, WCAG 2.2, definitions."""
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in shown)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Colour, other: Colour) -> float:
    """Contrast ratio, WCAG 2.2, definitions."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def rules(prefix: str = "bramble") -> dict[str, dict[str, str]]:
    """The style's rules by kind of mark."""
    found = re.findall(rf"^#{prefix} (\S.*?){{(.*)}}$", style_sheet(prefix), flags=re.MULTILINE)
    return {kind: dict(part.split(":", 1) for part in rule.split(";")) for kind, rule in found}


def test_the_contrast_of_black_on_white_is_21() -> None:
    assert contrast(colour("#000000"), colour("#ffffff")) == pytest.approx(21)


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("of", ["ink", "slate", "moss", "rust"])
def test_text_and_lines_stand_out_from_the_paper_and_its_tints(of: str, palette: Palette) -> None:
    paper, shown = colour(palette.paper), colour(getattr(palette, of))
    mossy = over(paper, colour(palette.moss), palette.moss_tint)
    rusty = over(paper, colour(palette.rust), palette.rust_tint)
    assert contrast(shown, paper) >= LEAST_CONTRAST
    assert contrast(shown, mossy) >= LEAST_CONTRAST
    assert contrast(shown, rusty) >= LEAST_CONTRAST


def test_print_is_black_on_white() -> None:
    assert PRINT.paper == "#ffffff"
    assert {PRINT.ink, PRINT.slate, PRINT.moss, PRINT.rust} == {"#000000"}
    assert PRINT.moss_tint == PRINT.rust_tint == 0


@pytest.mark.parametrize(
    "kinds",
    [
        pytest.param((".size", ".chosen"), id="sizes"),
        pytest.param((".edge", ".heavy"), id="bands"),
        pytest.param((".likely", ".sure"), id="doubt"),
        pytest.param((".hoof", ".largest", ".smallest"), id="outlines"),
    ],
)
def test_kinds_that_stand_side_by_side_differ_without_colour(kinds: tuple[str, ...]) -> None:
    colourless = {"fill", "stroke", "fill-opacity"}
    looks = [
        frozenset((name, value) for name, value in rules()[kind].items() if name not in colourless) for kind in kinds
    ]
    assert len(set(looks)) == len(kinds)


def test_fore_and_hind_points_differ_by_being_filled_and_hollow() -> None:
    assert rules()[".fore"]["fill"] == "var(--ink)"
    assert rules()[".hind"]["fill"] == "var(--paper)"


def test_every_rule_stays_inside_its_picture() -> None:
    flat = re.sub(r"@media [^{]*", "", style_sheet("bramble"))
    selectors = [part.strip() for part in re.findall(r"[^{}]+(?={[^{}]*})", flat) if part.strip()]
    assert len(selectors) > 20
    assert [part for part in selectors if not re.match(r"(:where\()?#bramble\b", part)] == []


def test_dark_and_print_override_every_colour() -> None:
    names = set(re.findall(r"--[a-z-]+(?=:)", LIGHT.properties()))
    for query in ("(prefers-color-scheme:dark)", "print"):
        block = re.search(rf"@media {re.escape(query)}{{#bramble{{([^}}]*)}}", style_sheet("bramble"))
        assert block is not None
        assert set(re.findall(r"--[a-z-]+(?=:)", block[1])) == names


def test_nothing_is_fetched_for_the_style() -> None:
    assert re.search(r"url\(|@import|@font-face|https?:", style_sheet("bramble")) is None


@pytest.mark.parametrize(
    "picture",
    [
        pytest.param(sizes(of=(*MARLOWICK, size("odd", width=(120, 130), length=None)), chosen=("odd",)), id="sizes"),
        pytest.param(sole(), id="sole"),
        pytest.param(
            four(*(entry(hoof, caution=one) for hoof, one in zip(BRAMBLE, (*Severity, None), strict=True))), id="four"
        ),
    ],
)
def test_every_kind_of_mark_has_a_rule(picture: Picture) -> None:
    ruled = {kind for selector in rules() for kind in re.findall(r"\.([a-z-]+)", selector)} | {"line"}
    used = {kind for node in read(draw(picture)).root.iter() for kind in node.get("class", "").split()}
    assert used
    assert used - ruled == set()
