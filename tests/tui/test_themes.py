"""The colours are our own, and what is written in them can be read."""

import re
from pathlib import Path
from typing import Any

import pytest
from textual._color_constants import COLOR_NAME_TO_RGB
from textual.color import Color
from textual.theme import BUILTIN_THEMES

from cooperage.tui.themes import DARK, LIGHT

THEMES = pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda theme: theme.name)
PARTS = (
    "primary",
    "secondary",
    "accent",
    "foreground",
    "background",
    "surface",
    "panel",
    "success",
    "warning",
    "error",
)
BEHIND = ("background", "surface", "panel")
SHEETS = Path(__file__).parents[2] / "cooperage" / "tui"

REFERENCE = Path(__file__).parents[1] / "reference" / "circulating_colours.txt"
CIRCULATING = {
    colour for line in REFERENCE.read_text().splitlines() if not line.startswith("#") for colour in line.split()
}


def terminal_colours() -> set[str]:
    """The 256 colours of a terminal, by their formula: 16 by name, a cube of six steps, a ramp of greys."""
    steps = (0, 95, 135, 175, 215, 255)
    cube = {f"{red:02x}{green:02x}{blue:02x}" for red in steps for green in steps for blue in steps}
    greys = {f"{8 + 10 * step:02x}" * 3 for step in range(24)}
    half = {f"{red:02x}{green:02x}{blue:02x}" for red in (0, 128) for green in (0, 128) for blue in (0, 128)}
    return cube | greys | half | {"c0c0c0", "808080"}


def of(theme: Any, part: str) -> str:
    return str(getattr(theme, part)).lstrip("#").lower()


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it, 0 for black and 1 for white."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [each / 12.92 if each <= 0.03928 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.1 defines it, 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_what_it_is_said_to_be() -> None:
    """Black on white is 21; the grey that just passes on white is 767676 (W3C, Understanding WCAG 2.1, 1.4.3)."""
    assert contrast("000000", "ffffff") == pytest.approx(21.0)
    assert contrast("767676", "ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("777777", "ffffff") < 4.5


@THEMES
def test_none_of_our_colours_is_in_a_palette_that_circulates(theme: Any) -> None:
    """Neither named in CSS, nor one of a terminal's 256, nor in the palettes that editors, charts and pages share."""
    named = {Color(*rgb[:3]).hex[1:7].lower() for rgb in COLOR_NAME_TO_RGB.values()}
    others = {of(built_in, part) for built_in in BUILTIN_THEMES.values() for part in PARTS if getattr(built_in, part)}
    ours = {of(theme, part) for part in PARTS}
    assert len(ours) == len(PARTS)
    assert not ours & (named | terminal_colours() | CIRCULATING | others)


def test_the_two_themes_share_no_colour() -> None:
    """What is bright enough for the cellar is too faint for the office."""
    assert not {of(DARK, part) for part in PARTS} & {of(LIGHT, part) for part in PARTS}


@THEMES
def test_text_and_marks_stand_out(theme: Any) -> None:
    """Text 4.5 times, marks 3 times, on everything they may stand on."""
    for behind in BEHIND:
        assert contrast(of(theme, "foreground"), of(theme, behind)) >= 7.0, behind
        for text in ("primary", "secondary", "accent", "success", "warning", "error"):
            assert contrast(of(theme, text), of(theme, behind)) >= 4.5, (text, behind)


@THEMES
def test_what_is_mixed_from_them_stands_out_too(theme: Any) -> None:
    """The quiet text, the warnings and refusals that Textual mixes of the theme's colours, on every ground in use."""
    made = theme.to_color_system().generate()
    for behind in BEHIND:
        ground = Color.parse(made[behind])
        for name in ("text-muted", "text-warning", "text-error", "text-primary"):
            share = re.fullmatch(r"auto (\d+)%", made[name])
            text = ground.get_contrast_text(int(share[1]) / 100) if share else Color.parse(made[name])
            seen = ground.blend(text, text.a, 1.0) if share else text
            assert contrast(seen.hex[1:7].lower(), ground.hex[1:7].lower()) >= 4.5, (name, behind)


def test_no_sheet_has_a_colour_of_its_own() -> None:
    """Every colour on screen comes from the theme."""
    for sheet in SHEETS.glob("*.tcss"):
        assert not re.search(r"#[0-9a-fA-F]{6}\b", sheet.read_text()), sheet.name
