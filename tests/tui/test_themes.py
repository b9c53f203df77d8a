"""The colours are our own, and what is written in them can be read."""

import re
from pathlib import Path
from typing import Any

import pytest
from textual._color_constants import COLOR_NAME_TO_RGB
from textual.color import Color
from textual.theme import BUILTIN_THEMES

from cooperage.tui.themes import DARK, LIGHT, ROLES
from cooperage.tui.themes import THEMES as ALL_THEMES

THEMES = pytest.mark.parametrize("theme", list(ALL_THEMES.values()), ids=lambda theme: theme.name)
TEXT = ("ink", "quiet", "mead", "ember", "honey", "rain")
BEHIND = ("soot", "board", "lift")
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
    return str(theme.variables[part]).lstrip("#").lower()


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
    """No colour, greys apart, is named in CSS, or one of a terminal's 256, or in the palettes that are shared."""
    named = {Color(*rgb[:3]).hex[1:7].lower() for rgb in COLOR_NAME_TO_RGB.values()}
    others = {str(colour).lstrip("#").lower() for built_in in BUILTIN_THEMES.values() for colour in parts(built_in)}
    ours = {of(theme, role) for role in ROLES}
    ours = {colour for colour in ours if len({colour[:2], colour[2:4], colour[4:]}) > 1}
    assert not ours & (named | terminal_colours() | CIRCULATING | others)


def parts(theme: Any) -> list[str]:
    """Every colour a theme declares."""
    names = [
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
    ]
    return [getattr(theme, name) for name in names if getattr(theme, name)]


def test_the_two_themes_share_no_colour() -> None:
    """What is bright enough for the cellar is too faint for the office."""
    assert not {of(DARK, role) for role in ROLES} & {of(LIGHT, role) for role in ROLES}


@THEMES
def test_text_and_marks_stand_out(theme: Any) -> None:
    """Figures 7 times, other text 4.5 times, on everything they may stand on; a bar of liquid 3 times (1.4.11)."""
    for behind in BEHIND:
        assert contrast(of(theme, "ink"), of(theme, behind)) >= 7.0, behind
        for text in TEXT:
            assert contrast(of(theme, text), of(theme, behind)) >= (3.0 if text == "mead" else 4.5), (text, behind)


def test_no_sheet_has_a_colour_of_its_own() -> None:
    """Every colour on screen comes from the theme."""
    for sheet in SHEETS.rglob("*.tcss"):
        assert not re.search(r"#[0-9a-fA-F]{6}\b", sheet.read_text()), sheet.name
