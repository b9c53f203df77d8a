"""A taster's sheet to score on: the glasses in the taster's own order, as text for paper and as rows for a table.

It shows codes and scales alone, never what is in a glass or what anybody gave it.
"""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from cooperage.book.declared.verdicts import LOOK_AGAIN, VERDICTS
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.scales import SCALES
from cooperage.tasting.flights.shape import Flight

WIDTH = 78
"""Columns of a sheet: what a page takes in a plain type."""
_BLANK = "____"
_VERDICTS = "  ".join(f"{word} in {_BLANK} weeks" if word == LOOK_AGAIN else word for word in VERDICTS)
OF_A_ROW = ("flight", "taster", "place", "glass")
"""The columns of a table of scores that name the glass; those of the figures follow, then these."""
AFTER_FIGURES = ("words", "verdict")
"""The columns after the figures; a flight without vessels asks for no verdict."""


def sheet_columns(poured: Flight) -> list[str]:
    """Return the columns of a table of scores of a flight."""
    return [*OF_A_ROW, *asked_of(poured), *_after_figures(poured)]


def _after_figures(poured: Flight) -> tuple[str, ...]:
    return AFTER_FIGURES if poured.takes_verdicts else AFTER_FIGURES[:1]


def sheet_rows(poured: Flight, taster: str) -> Iterator[list[str]]:
    """Yield a taster's rows of a table of scores, in the taster's own order; what is to be given is blank."""
    blank = [""] * (len(asked_of(poured)) + len(_after_figures(poured)))
    for place, code in enumerate(poured.orders[taster], 1):
        yield [poured.code, taster, str(place), code, *blank]


def sheet_lines(poured: Flight, taster: str) -> list[str]:
    """Return a taster's sheet, line by line."""
    title = f"{poured.code}  {poured.name}".rstrip()
    lines = [f"{title}{taster:>{max(2, WIDTH - len(title))}}", ""]
    lines += wrap(f"Glasses stand in your own order. Score {', '.join(_scales(poured))}.", WIDTH)
    may_stay = "words and a verdict" if poured.takes_verdicts else "words"
    lines += wrap(f"Taste and write alone. A dash leaves one out; {may_stay} may stay blank.", WIDTH)
    for place, code in enumerate(poured.orders[taster], 1):
        lines += ["", *_glass_lines(poured, place, code)]
    return lines


def _scales(poured: Flight) -> Iterator[str]:
    for name in asked_of(poured):
        scale = scale_of(poured, name)
        known = SCALES.get(scale)
        yield f"{name} {scale}{f' ({known.label})' if known else ''}"


def _glass_lines(poured: Flight, place: int, code: str) -> Iterator[str]:
    known = "  the reference" if poured.glass(code).is_reference else ""
    yield f"{place:>2}  glass {code}{known}"
    yield from _filled([f"{name} {_BLANK}" for name in asked_of(poured)])
    yield f"    words   {'_' * (WIDTH - 12)}"
    if poured.takes_verdicts:
        yield f"    verdict {_VERDICTS}"


def _filled(parts: Sequence[str]) -> Iterator[str]:
    """Yield parts in lines, each part whole."""
    line = ""
    for part in parts:
        longer = f"{line}   {part}" if line else f"    {part}"
        if line and len(longer) > WIDTH:
            yield line
            longer = f"    {part}"
        line = longer
    yield line
