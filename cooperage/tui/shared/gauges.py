"""Levels, positions and figures in a few characters, legible without colour."""

from collections.abc import Sequence

from textual.content import Content

from cooperage.book import Standing
from cooperage.book.dangers.dangers import Caution, row_lines, short_lines
from cooperage.book.vessel_words import chalked_place, fill_words, lots_words, wood_words
from cooperage.programme.losses.level import Level, format_level, level_now
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
