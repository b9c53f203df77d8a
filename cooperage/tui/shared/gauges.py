"""Levels, positions and figures in a few characters, legible without colour."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from textual.content import Content

from cooperage.book import Standing
from cooperage.book.dangers.dangers import Caution, row_lines, short_lines
from cooperage.book.vessel_words import chalked_place, fill_words, lots_words, wood_words
from cooperage.programme.losses.level import Level, format_level, level_now
from cooperage.programme.page.figures import page_figures
from cooperage.units import Quantity, Units, show

_EIGHTHS = " ▁▂▃▄▅▆▇█"
_ACROSS = " ▏▎▍▌▋▊▉█"


def level_glyph(ml: int, capacity_ml: int) -> str:
    """Return a character as high as the level: blank is empty, a whole block is full to the bung."""
    return _EIGHTHS[min(8, _eighths(ml, capacity_ml, 1))]


def level_bar(level: Level, width: int) -> str:
    """Return a bar for a level, `width` wide when full, with ends drawn so that it reads without colour."""
    whole, part = divmod(_eighths(level.ml, level.capacity_ml, width), 8)
    bar = "█" * whole + (_ACROSS[part] if part else "")
    return f"▕{bar:<{width}}▏"


def lying_bar(part: float, rest: float, whole: float, width: int) -> tuple[str, str]:
    """Return a bar with air above in its two parts: what is taken and what stays, `width` wide for a `whole`.

    Each part is as long as its share of the whole within one character, and none that is something vanishes.
    """
    if whole <= 0:
        return "", ""
    taken = max(round(width * part / whole), 1) if part > 0 else 0
    stays = max(round(width * rest / whole), 1) if rest > 0 else 0
    taken = min(taken, width)
    return "▆" * taken, "▁" * min(stays, width - taken)


def whole_phrases(words: str, room: int, parted: str = ", ") -> str:
    """Return as many phrases of a text, parted by commas or otherwise, as there is room for; none of them is cut."""
    phrases = words.split(parted)
    while len(text := parted.join(phrases)) > room and phrases:
        phrases.pop()
    return text


def _eighths(ml: int, capacity_ml: int, width: int) -> int:
    """Return eighths of a character: at least 1 for what holds something, never all for what is short."""
    return max(8 * width * ml // capacity_ml, 1) if ml > 0 else 0


def about_lines(standing: Standing, units: Units, level: Level | None = None) -> tuple[str, str]:
    """Return two lines on a vessel: its tag, place and wood; what it holds now and in the book, by lot.

    Without `level`, calculated from the barrel's own visits, the usual loss of such a barrel is assumed.
    """
    level = level or level_now(standing)
    who = f"{standing.tag}  {chalked_place(standing.position)}  {wood_words(standing)}, {fill_words(standing)}"
    return who, f"{level_bar(level, 6)} {held_words(standing, level, units)}  {lots_words(standing)}"


def held_words(standing: Standing, level: Level, units: Units) -> str:
    """Return what a vessel holds now with its band, and what the book has of its capacity."""
    size = show(Quantity.VOLUME, standing.vessel.capacity_ml, units)
    if not level.is_expected:
        return f"{show(Quantity.VOLUME, standing.ml, units)} of {size} in the book"
    book = show(Quantity.VOLUME, standing.ml, units, with_unit=False)
    return f"{format_level(level, units, now=' now', of=', 90 %')}; book {book} of {size}"


def cautions_shown(found: Sequence[Caution], *, in_rows: bool = False) -> Content:
    """Set cautions under each other, after the word, which needs no colour; `in_rows`, as short as they may be."""
    lines = row_lines(found) if in_rows else short_lines(found)
    return Content.styled("Caution: " + "\n".join(lines), "bold $honey") if lines else Content("")


def titled(lines: Sequence[str]) -> Content:
    """Set lines under each other, the first line bold."""
    return Content("\n").join([Content.styled(lines[0], "bold"), *(Content(line) for line in lines[1:])])


class Columned(Protocol):
    """A figure as text, in parts."""

    @property
    def value(self) -> str:
        """The value alone."""

    @property
    def band(self) -> str:
        """How far it may be off: "±1.3", or nothing."""

    @property
    def unit(self) -> str:
        """Its unit."""


@dataclass(frozen=True, slots=True)
class FigureColumns:
    """How wide the columns of figures are, so that all stand on their point."""

    whole: int
    part: int
    band: int
    band_part: int
    unit: int

    @property
    def width(self) -> int:
        """All of them, with what is between."""
        return self.whole + self.part + self.band + self.band_part + self.unit + 2


def figure_columns(found: Iterable[Columned]) -> FigureColumns:
    """Return the columns for figures: as wide as the widest of each."""
    figures = list(found)
    parted, bands = ([_parted(text) for text in texts] for texts in _texts(figures))
    return FigureColumns(
        whole=max((len(whole) for whole, _ in parted), default=0),
        part=max((len(part) for _, part in parted), default=0),
        band=max((len(whole) for whole, _ in bands), default=0),
        band_part=max((len(part) for _, part in bands), default=0),
        unit=max((len(figure.unit) for figure in figures), default=0),
    )


def _texts(figures: Sequence[Columned]) -> tuple[list[str], list[str]]:
    return [figure.value for figure in figures], [figure.band for figure in figures]


def figure_cells(figure: Columned | None, columns: FigureColumns) -> tuple[str, str]:
    """Return a figure in its columns: the value on its point; its band and unit."""
    whole, part = ("", "") if figure is None else _parted(figure.value)
    band, band_part, unit = ("", "", "") if figure is None else (*_parted(figure.band), figure.unit)
    spread = f"{band:>{columns.band}}{band_part:<{columns.band_part}}"
    return f"{whole:>{columns.whole}}{part:<{columns.part}}", f"{spread} {unit:<{columns.unit}}"


def figure_rows(
    standing: Standing, names: Sequence[str], units: Units, *, is_short: bool = False
) -> Iterator[tuple[str, str, str]]:
    """Yield what a vessel's figures are now, as its page has them, for a card beside a list: those that are known.

    Each is its name, in short where asked for; the value on its point; band, unit and age.
    """
    known = {row.name: row for row in page_figures(standing, None, units) if row.unit or row.value != "?"}
    rows = [known[name] for name in names if name in known]
    columns = figure_columns(rows)
    wide = max((len(row.short if is_short else row.label) for row in rows), default=0)
    for row in rows:
        value, rest = figure_cells(row, columns)
        yield f"{row.short if is_short else row.label:<{wide}} ", f"{value} ", f"{rest} {row.age:>5}".rstrip()


def _parted(value: str) -> tuple[str, str]:
    """Part a figure at its point, which goes with what follows."""
    at = next((at for at, each in enumerate(value) if each in ".,"), len(value))
    return value[:at], value[at:]
