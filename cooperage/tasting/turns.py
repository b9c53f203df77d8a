"""One taster's turn at the glasses of a flight: whose turn it is, what a typed line gives to which glass, what is left.

A line is the whole of what a taster gives a glass (`flights/line.py`). Where a flight has no attributes, several
overall scores in a row go to the glasses that follow each other (`in_line.py`).
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from cooperage.book.declared.verdicts import VERDICTS
from cooperage.tasting.flights import Flight, Score, announced, parse_glass_line
from cooperage.tasting.flights.line import as_line, asked_of
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.flights.vocabulary import Term, suggested
from cooperage.tasting.in_line import LEFT_OUT, is_row, scores_in_line
from cooperage.units import DEFAULT, Quantity, Units, show_short

_FIGURES_FIRST = re.compile(r"^\s*(?:(?:[\d.,]+|[-–—])(?:\s+|$))*")
"""The figures and dashes that a line begins with."""


def next_taster(poured: Flight, hand: str = "") -> str:
    """Return whose turn it is: the `hand` at work if of the panel, or where no panel is named; else who comes first.

    Empty where all of the panel have scored every glass.
    """
    if not poured.panel:
        return hand
    waiting = [taster for taster in poured.panel if poured.glasses_left(taster)]
    here = poured.taster_named(hand) if hand else ""
    return here if here in waiting else next(iter(waiting), "")


def line_of(given: Score | None, poured: Flight) -> str:
    """Return a score as the line that would give it, without dashes at its end; empty where none was given."""
    if given is None:
        return ""
    line = as_line(given, poured)
    if given.words or given.verdict is not None:
        return line
    figures = line.split()
    while figures and figures[-1] == LEFT_OUT:
        figures.pop()
    return " ".join(figures)


def still_to_come(given: Score | None, poured: Flight) -> list[str]:
    """Return what a taster has not scored yet of a glass, in the order it is typed."""
    there = given or Score(None)
    return [name for name in asked_of(poured) if there.figure(name) is None]


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a line gives: scores by the codes of their glasses, and as a sentence what Enter would take.

    `reached` counts the figures that are typed for the first glass, with those left out; `glasses` the glasses.
    """

    given: Mapping[str, Score]
    words: str
    reached: int
    glasses: int = 1


def read_line(text: str, poured: Flight, taster: str, codes: Sequence[str], units: Units = DEFAULT) -> LineRead:
    """Read a line that is typed at the first of some glasses; it replaces all that the taster gave before.

    What it would write is announced in `units`.
    Raises TooManyFigures, OffTheScale, NotAVerdict, BadInput.
    """
    if not poured.attributes and is_row(text, poured.scale, len(codes)):
        return _read_row(scores_in_line(text, poured.scale, len(codes)), poured, taster, codes, units)
    typed = parse_glass_line(text, poured)
    return LineRead({codes[0]: typed.added_to(Score(None))}, announced(typed, poured, units), len(typed.figures))


def _read_row(figures: Sequence[str], poured: Flight, taster: str, codes: Sequence[str], units: Units) -> LineRead:
    """Read overall scores that go to glasses one after the other; words that were given before stay."""
    given = {
        code: replace(
            poured.scores.get((code, taster), Score(None)), value=parse_glass_line(figure, poured).figures[OVERALL]
        )
        for code, figure in zip(codes, figures, strict=False)
        if figure != LEFT_OUT
    }
    words = " · ".join(f"{code} {show_short(Quantity.NUMBER, each.value, units)}" for code, each in given.items())
    return LineRead(given, words, 1, len(figures))


def word_begun(text: str) -> str:
    """Return the tasting words of which the end of a line may be the beginning; empty where a figure is typed."""
    if ";" in text:
        return ""
    last = _FIGURES_FIRST.sub("", text).rpartition(",")[2].lstrip()
    return last if last[:1].isalpha() else ""


def whole_line(text: str, terms: Iterable[Term]) -> str:
    """Return a line with what is begun at its end completed: a tasting word, after a semicolon a verdict."""
    _, semicolon, last = text.rpartition(";")
    begun = last.lstrip() if semicolon else word_begun(text)
    known = VERDICTS if semicolon else suggested(terms, begun)
    whole = next((each for each in known if begun and each.casefold().startswith(begun.casefold())), begun)
    return text + whole[len(begun) :]


def words_near(text: str, terms: Iterable[Term]) -> list[str]:
    """Return the cellar's tasting words that what is begun at the end of a line may become."""
    begun = word_begun(text)
    return [word for word in suggested(terms, begun) if word != begun.strip()]
