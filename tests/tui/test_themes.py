"""The colours are our own, and what is written in them can be read."""

import re
from collections.abc import Mapping
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pytest
from rich.color import Color as RichColor
from rich.color import ColorSystem
from rich.segment import Segment
from rich.style import Style
from textual._color_constants import COLOR_NAME_TO_RGB
from textual.color import Color
from textual.theme import BUILTIN_THEMES

from cooperage.tui.filters.fewer_colours import Of256, TwoColours, palette
from cooperage.tui.themes import DARK, HEATHER, LIGHT, NUMBERS, ON_HEATHER, ROLES, fitting
from cooperage.tui.themes import THEMES as ALL_THEMES
from tests.tui.seen_colours import DEFICIENCIES, ciede2000, contrast, difference, published_pairs, seen

THEMES = pytest.mark.parametrize("theme", list(ALL_THEMES.values()), ids=lambda theme: theme.name)
TEXT = ("ink", "quiet", "mead", "ember", "honey", "rain")
DRAWN = ("mist", "rule")
"""Of bands and lines; no letter or figure is written in them."""
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


Colours = Mapping[str, str]


def as_chosen(theme: Any) -> Colours:
    """What a terminal with all colours shows of each role."""
    return {role: of(theme, role) for role in (*ROLES, *HEATHER, *ON_HEATHER)}


def of_256(theme: Any) -> Colours:
    """What a terminal of 256 colours shows of each role."""
    return {role: "{:02x}{:02x}{:02x}".format(*palette()[number]) for role, number in NUMBERS[theme.name].items()}


SEEN = pytest.mark.parametrize(
    "colours",
    [as_chosen(theme) for theme in ALL_THEMES.values()] + [of_256(ALL_THEMES[name]) for name in NUMBERS],
    ids=[*ALL_THEMES, *(f"{name}-256" for name in NUMBERS)],
)


@SEEN
def test_text_and_marks_stand_out(colours: Colours) -> None:
    """Figures 7 times, other text 4.5 times, on everything they may stand on; a bar of liquid 3 times (1.4.11)."""
    for behind in BEHIND:
        assert contrast(colours["ink"], colours[behind]) >= 7.0, behind
        for text in TEXT:
            assert contrast(colours[text], colours[behind]) >= (3.0 if text == "mead" else 4.5), (text, behind)


@SEEN
def test_a_band_stands_out_on_the_ground(colours: Colours) -> None:
    """3 times, as what is drawn must (1.4.11)."""
    assert contrast(colours["mist"], colours["soot"]) >= 3.0


@SEEN
def test_a_figure_stands_out_on_its_plate(colours: Colours) -> None:
    """4.5 times, on each of the seven; and the tag under the pointer, which is ink and ground reversed."""
    for plate, figure in zip(HEATHER, ON_HEATHER, strict=True):
        assert contrast(colours[figure], colours[plate]) >= 4.5, plate
    assert contrast(colours["soot"], colours["ink"]) >= 7.0


@SEEN
@pytest.mark.parametrize("deficiency", ["", *DEFICIENCIES])
def test_the_three_states_are_told_apart(colours: Colours, deficiency: str) -> None:
    """By every eye; a difference of 10 is plain at a glance, the least here is 14.9. Marks tell them apart besides."""
    for one, other in combinations(("ember", "honey", "rain"), 2):
        assert difference(colours[one], colours[other], deficiency) >= 14.5, (one, other)


@SEEN
@pytest.mark.parametrize("deficiency", ["", *DEFICIENCIES])
def test_the_steps_of_a_measure_are_told_apart(colours: Colours, deficiency: str) -> None:
    """Each from its neighbours, by every eye; the figure stands on it besides."""
    for one, other in pairwise(HEATHER):
        assert difference(colours[one], colours[other], deficiency) >= 7.5, (one, other)


@pytest.mark.parametrize(("one", "other", "given"), published_pairs())
def test_differences_are_the_published_ones(one: Any, other: Any, given: float) -> None:
    """Sharma, Wu and Dalal (2005), to their four decimals."""
    assert ciede2000(one, other) == pytest.approx(given, abs=5e-5)
    assert ciede2000(other, one) == pytest.approx(given, abs=5e-5)


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_greys_look_grey_to_every_eye(deficiency: str) -> None:
    """Each row of the published matrices sums to one."""
    for grey in ("000000", "808080", "ffffff"):
        assert difference(grey, grey) == 0.0
        assert seen(grey, deficiency) == pytest.approx(seen(grey), abs=1e-5)


# --- which colours are used, and where --------------------------------------------------------------------------------


def written(pattern: str) -> set[str]:
    """The roles that a pattern finds in the sheets and in the code of the screens."""
    files = [*SHEETS.rglob("*.tcss"), *SHEETS.rglob("*.py")]
    return {found for file in files for found in re.findall(pattern, file.read_text())}


def test_no_sheet_has_a_colour_of_its_own() -> None:
    """Every colour on screen comes from the theme."""
    for sheet in SHEETS.rglob("*.tcss"):
        assert not re.search(r"#[0-9a-fA-F]{6}\b", sheet.read_text()), sheet.name


def test_text_is_written_in_no_other_colour_than_those_that_are_looked_at_here() -> None:
    """In the sheets, in marked text and on drawn lines; bands, lines that part and scroll bars are no text."""
    in_sheets = written(r"(?<![\w-])color: *\$([\w-]+)")
    in_texts = written(r'"(?:bold )?\$([a-z]+)"') | written(r'\bink\([^()"]*"(\w+)"')
    assert {"ink", "quiet", "ember"} <= in_sheets | in_texts
    assert in_sheets <= {*TEXT, "error"}
    assert in_texts <= {*TEXT, *DRAWN}
    assert DARK.error == DARK.variables["ember"]


@pytest.mark.slow
@pytest.mark.parametrize("page", ["losses", "barrel", "panel", "rounds", "racks"])
async def test_nothing_is_written_in_the_colours_of_bands_and_lines(opened: Any, press: Any, page: str) -> None:
    """No letter and no figure: they would be too faint to read."""
    async with opened(page=page) as pilot:
        await press(pilot)
        strips = pilot.app.screen._compositor.render_strips()
        faint = {f"#{of(DARK, role)}" for role in DRAWN}
        written_so = [
            segment.text
            for strip in strips
            for segment in strip
            if segment.style and segment.style.color and segment.style.color.get_truecolor().hex in faint
        ]
    assert not [text for text in written_so if any(each.isalnum() for each in text)]


def test_text_stands_on_no_other_ground() -> None:
    """The plates of a measure besides."""
    assert written(r"(?<![\w-])background: *\$([\w-]+)") <= set(BEHIND)


# --- terminals with fewer colours -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chosen", "system", "no_color", "name"),
    [
        ("light", "truecolor", False, "light"),
        ("light", "256", False, "light"),
        ("", "256", False, "dark"),
        ("of another version", "truecolor", False, "dark"),
        ("light", "standard", False, "plain"),
        ("light", None, False, "plain"),
        ("contrast", "truecolor", True, "plain"),
        ("plain", "truecolor", False, "plain"),
    ],
)
def test_a_terminal_without_the_colours_is_drawn_in_its_own_two(
    chosen: str, system: str | None, no_color: bool, name: str
) -> None:
    """NO_COLOR, TERM=dumb and sixteen colours, which are whatever their owner made of them."""
    assert fitting(chosen, system, no_color=no_color).name == name


def test_with_sixteen_colours_our_colours_would_be_mixed_up() -> None:
    """The nearest of the sixteen are the same for trouble and what is due on light ground, or cannot be read."""
    nearest = {role: RichColor.parse(f"#{of(LIGHT, role)}").downgrade(ColorSystem.STANDARD).number for role in TEXT}
    assert len(set(nearest.values())) < len(TEXT)


@pytest.mark.parametrize("name", list(NUMBERS))
def test_each_role_is_shown_in_the_colour_chosen_for_it(name: str) -> None:
    """Of 256; a mixture of two in the nearest one. Bold and what a click does stay."""
    shown = Of256(name)
    for role in ROLES:
        style = Style(color=str(ALL_THEMES[name].variables[role]), bold=True, meta={"@click": "x"})
        (segment,) = shown.apply([Segment("B-001", style)], Color(0, 0, 0))
        (found,) = numbers_of(segment)
        assert found in {NUMBERS[name][role], *on_same_colour(name, role)}
        assert segment.style == Style(color=RichColor.from_ansi(found), bold=True, meta={"@click": "x"})
    (mixed,) = shown.apply([Segment("x", Style(color="#870001"))], Color(0, 0, 0))
    assert numbers_of(mixed) == [88]


def numbers_of(segment: Segment) -> list[int]:
    """The number of a segment's colour."""
    colour = segment.style.color if segment.style else None
    return [] if colour is None or colour.number is None else [colour.number]


def on_same_colour(name: str, role: str) -> set[int]:
    """The numbers of other roles that have the same colour in a theme."""
    return {
        number for other, number in NUMBERS[name].items() if of(ALL_THEMES[name], other) == of(ALL_THEMES[name], role)
    }


def test_two_colours_leave_what_is_no_colour() -> None:
    """Bold, reverse, underline, and what a click does; dim and italic carry nothing."""
    style = Style(color="red", bgcolor="blue", bold=True, dim=True, italic=True, reverse=True, meta={"@click": "x"})
    (segment,) = TwoColours().apply([Segment("▲", style)], Color(0, 0, 0))
    assert segment.style == Style(bold=True, reverse=True, meta={"@click": "x"})


@pytest.mark.parametrize("page", ["racks", "today", "rounds", "book"])
@pytest.mark.parametrize("env", [{"NO_COLOR": "1"}, {"TERM": "dumb", "COLORTERM": ""}])
async def test_no_colour_reaches_a_terminal_that_wants_none(
    opened: Any, press: Any, monkeypatch: pytest.MonkeyPatch, page: str, env: Mapping[str, str]
) -> None:
    """Not one code of a colour but those of the terminal's own; the text is the same as with colours."""
    async with opened(page=page) as pilot:
        coloured = text_sent(pilot)[0]
    for key, value in env.items():
        monkeypatch.setenv(key, value)
    async with opened(page=page, theme="light") as pilot:
        text, codes = text_sent(pilot)
    assert text == coloured
    assert codes <= {"1", "4", "7"}
    assert {"1", "7"} <= codes or (page == "today" and "1" in codes)  # this cellar has nothing there to point at


def text_sent(pilot: Any) -> tuple[str, set[str]]:
    """What a terminal is sent of the screen: its text, and the codes in it."""
    console = pilot.app.console
    sent = "\n".join(strip.render(console) for strip in pilot.app.screen._compositor.render_strips())
    codes = {
        code for found in re.findall(r"\x1b\[([\d;]*)m", sent) for code in found.split(";") if code not in ("", "0")
    }
    return re.sub(r"\x1b\[[\d;]*m|\x1b\]8;[^\x1b]*\x1b\\\\", "", sent), codes
