"""Filters of every drawn line for terminals with fewer colours: the 256 of the usual palette, or their own two."""

from functools import cache, lru_cache

from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter

from cooperage.tui.themes import NUMBERS, THEMES

_FIRST, _CUBE, _GREYS = 16, (0, 95, 135, 175, 215, 255), 24


class TwoColours(LineFilter):
    """Leaves the terminal's own two colours: bold, reverse and underline stay, dim and italic carry nothing."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - Textual's
        """Return the segments without colours."""
        return [Segment(text, style and _uncoloured(style), control) for text, style, control in segments]


class Of256(LineFilter):
    """Shows each role of a theme in the colour that was chosen for it out of 256, and any mixture in the nearest."""

    def __init__(self, theme: str) -> None:
        super().__init__()
        colours, numbers = THEMES[theme].variables, NUMBERS[theme]
        self._numbers = {RichColor.parse(colours[role]).triplet: number for role, number in numbers.items()}
        self._styles: dict[Style, Style] = {}

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - Textual's
        """Return the segments in colours of the 256."""
        return [Segment(text, style and self._style(style), control) for text, style, control in segments]

    def _style(self, style: Style) -> Style:
        if style not in self._styles:
            self._styles[style] = style + Style(color=self._of(style.color), bgcolor=self._of(style.bgcolor))
        return self._styles[style]

    def _of(self, colour: RichColor | None) -> RichColor | None:
        if colour is None or colour.triplet is None:
            return colour
        number = self._numbers.get(colour.triplet)
        return RichColor.from_ansi(nearest(*colour.triplet) if number is None else number)


@lru_cache(4096)
def _uncoloured(style: Style) -> Style:
    return Style(bold=style.bold, reverse=style.reverse, underline=style.underline, meta=style.meta or None)


@cache
def palette() -> dict[int, tuple[int, int, int]]:
    """Return the colours of a terminal from 16 to 255, the ones that are the same everywhere: a cube, then greys."""
    cube = [(red, green, blue) for red in _CUBE for green in _CUBE for blue in _CUBE]
    greys = [(8 + 10 * step,) * 3 for step in range(_GREYS)]
    return {_FIRST + nth: (red, green, blue) for nth, (red, green, blue) in enumerate([*cube, *greys])}


@lru_cache(4096)
def nearest(red: int, green: int, blue: int) -> int:
    """Return the number of the colour that is nearest in its three parts."""
    wanted = (red, green, blue)
    return min(palette(), key=lambda number: sum((a - b) ** 2 for a, b in zip(palette()[number], wanted, strict=True)))
