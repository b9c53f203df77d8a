"""Four themes of our own, and what each colour in them is for.

Their colours are of a barrel cellar on a cold coast: soot and oak, honey, rain, embers, heather. A screen never names a
colour, only its role: `$honey` in a style sheet, `ink(self.app, "honey")` on a line (`shared/ink.py`). Contrasts,
colour vision and that none of them circulates under a name are held in `tests/tui/test_themes.py`.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from textual.theme import Theme

ROLES: Mapping[str, str] = MappingProxyType(
    {
        "soot": "what everything stands on",
        "board": "the first row and the last two",
        "lift": "the row of the pointer",
        "ink": "text and figures",
        "quiet": "explanation, ages, bands",
        "rule": "lines that part",
        "mead": "liquid, bars of what there is",
        "mist": "bands, heels, what stays behind",
        "ember": "trouble, always bold and with its mark",
        "honey": "due",
        "rain": "done",
    }
)
"""What each role is for."""

HEATHER = tuple(f"heather-{step}" for step in range(1, 8))
"""Seven steps of one measure, least to most; no state uses this hue."""

ON_HEATHER = tuple(f"on-heather-{step}" for step in range(1, 8))
"""What a figure is written in on each of them."""

_CELLAR = "14110d 211b14 30281d ece4d4 ac9f8b 5c4f3f b98548 6f6353 df7966 eac63c 5ea4a7"
_DESK = "f7f4ec eee8dc e7e0d1 1d1812 5c5244 b9ad97 8c5c1e 988b74 b42d57 634000 2c5a94"
_LAMP = "000000 0d0d0d 242424 ffffff d6d6d6 9c9c9c ffb357 8f8f8f feaa94 fce539 38bde6"
_HEATHER_ON_DARK = "4a3351 684877 85609c a07bbe ba9add d4bcf7 ebe3fe"
_HEATHER_ON_LIGHT = "daccf5 c2abe4 ab8bcd 936eb0 79548f 5e3e6c 422b49"
_ON_DARK = "ffffff ffffff ffffff 14110d 14110d 14110d 14110d"
_ON_LIGHT = "14110d 14110d 14110d 14110d ffffff ffffff ffffff"

_CELLAR_256 = "233 234 235 254 247 239 137 241 203 221 73"
_DESK_256 = "255 254 254 234 240 144 94 101 125 58 25"
_LAMP_256 = "16 232 235 231 252 247 215 245 216 227 74"
_HEATHER_256 = "53 60 97 103 140 183 225"
_ON_DARK_256 = "231 231 231 233 233 233 233"
_ON_LIGHT_256 = "233 233 233 233 231 231 231"


def _numbers(colours: str, heather: Sequence[str], on_heather: str) -> Mapping[str, int]:
    parts = [*ROLES, *HEATHER, *ON_HEATHER]
    numbers = [*colours.split(), *heather, *on_heather.split()]
    return MappingProxyType({part: int(number) for part, number in zip(parts, numbers, strict=True)})


def _theme(name: str, colours: str, heather: str, on_heather: str, dark: bool = True) -> Theme:
    roles = [*ROLES, *HEATHER, *ON_HEATHER]
    of = dict(zip(roles, (f"#{each}" for each in f"{colours} {heather} {on_heather}".split()), strict=True))
    return Theme(
        name=name,
        dark=dark,
        primary=of["mead"],
        secondary=of["rain"],
        accent=of["heather-5"],
        foreground=of["ink"],
        background=of["soot"],
        surface=of["board"],
        panel=of["lift"],
        success=of["rain"],
        warning=of["honey"],
        error=of["ember"],
        variables=of | (_REVERSED_POINTERS if name == "plain" else {}),
    )


_REVERSED_POINTERS = {"block-cursor-text-style": "bold reverse", "block-cursor-blurred-text-style": "underline"}
"""Where a choice list shows its pointer by a ground, two colours reverse it."""


DARK = _theme("dark", _CELLAR, _HEATHER_ON_DARK, _ON_DARK)
LIGHT = _theme("light", _DESK, _HEATHER_ON_LIGHT, _ON_LIGHT, dark=False)
CONTRAST = _theme("contrast", _LAMP, _HEATHER_ON_DARK, _ON_DARK)
PLAIN = _theme("plain", _LAMP, _HEATHER_ON_DARK, _ON_DARK)
"""Drawn in the terminal's own two colours: the app takes every colour out of its lines."""

THEMES: Mapping[str, Theme] = MappingProxyType({theme.name: theme for theme in (DARK, LIGHT, CONTRAST, PLAIN)})
"""The themes by the word a person chooses them by."""

_UP = _HEATHER_256.split()
NUMBERS: Mapping[str, Mapping[str, int]] = MappingProxyType(
    {
        DARK.name: _numbers(_CELLAR_256, _UP, _ON_DARK_256),
        LIGHT.name: _numbers(_DESK_256, _UP[::-1], _ON_LIGHT_256),
        CONTRAST.name: _numbers(_LAMP_256, _UP, _ON_DARK_256),
    }
)
"""What stands for each role on a terminal of 256 colours, by theme and role: the number of its colour there."""


def fitting(chosen: str, colour_system: str | None, *, no_color: bool) -> Theme:
    """Return the theme to draw in: the one chosen, dark where none is, on a terminal that has the colours for it.

    `colour_system` is Rich's word for what the terminal can show. Sixteen colours are whatever its owner made of them,
    on an unknown ground: with no more than those, or where no colour is wanted, it is plain.
    """
    is_plain = no_color or colour_system not in ("256", "truecolor")
    return PLAIN if is_plain else THEMES.get(chosen, DARK)
