"""One glass typed on one line, and what Enter takes of it: "6 3 7 5 12.5 vanilla, soft wood; look again 8 weeks".

The figures come first, in the order of the flight's attributes with the overall score last; a dash leaves one out.
Tasting words follow, parted by commas, and a verdict after a semicolon. A line may end anywhere: what is not typed
stays open.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from cooperage.book.declared.verdicts import VERDICT_SPELLINGS, Judgement, NotAVerdict, verdict_in
from cooperage.errors import BadInput
from cooperage.tasting.flights.errors import NothingToJudge
from cooperage.tasting.flights.scales import OVERALL, OffTheScale, check_on_scale
from cooperage.tasting.flights.shape import Flight, Score
from cooperage.tasting.in_line import LEFT_OUT
from cooperage.units import DEFAULT, Quantity, Units, read, show_short

_FIGURE = re.compile(r"([-+]?\d[\d.,]*|[-–—])(?:\s+|(?=;)|$)")
_DASHES = (LEFT_OUT, "–", "—")


class TooManyFigures(BadInput):
    """More figures typed for a glass than are scored."""

    def __init__(self, asked: tuple[str, ...], typed: int) -> None:
        self.asked = asked
        names = ", ".join(asked)
        super().__init__(f"{typed} figures are too many; a glass has {len(asked)}: {names}")


@dataclass(frozen=True, slots=True)
class TypedScore:
    """What was typed for a glass.

    `figures` are by the name of the attribute, the overall score by `OVERALL`; None is one that a dash leaves out.
    `to_come` are those that the line does not reach.
    """

    figures: Mapping[str, float | None]
    words: str = ""
    verdict: Judgement | None = None
    to_come: tuple[str, ...] = ()

    def added_to(self, there: Score) -> Score:
        """Return a score with what was typed in place of what was there; what was not typed stays."""
        marks = dict(there.marks)
        for name, figure in self.figures.items():
            marks.pop(name, None)
            if figure is not None and name != OVERALL:
                marks[name] = figure
        value = self.figures.get(OVERALL, there.value)
        return Score(value, self.words or there.words, marks, self.verdict or there.verdict)


def asked_of(poured: Flight) -> tuple[str, ...]:
    """Return what is scored of each glass, in the order it is typed: the attributes, then overall."""
    return (*(attribute.name for attribute in poured.attributes), OVERALL)


def scale_of(poured: Flight, name: str) -> str:
    """Return the scale of an attribute of a flight, or of its overall score; raises NotInThisFlight."""
    return poured.scale if name == OVERALL else poured.attribute(name).scale


def parse_glass_line(text: str, poured: Flight) -> TypedScore:
    """Read what was typed for a glass. Raises TooManyFigures, OffTheScale, NotAVerdict, NothingToJudge, BadInput."""
    tokens, rest = [], text.strip()
    while found := _FIGURE.match(rest):
        tokens.append(found[1])
        rest = rest[found.end() :]
    asked = asked_of(poured)
    if len(tokens) > len(asked):
        raise TooManyFigures(asked, len(tokens))
    try:
        figures = {name: _figure(token, poured, name) for name, token in zip(asked, tokens, strict=False)}
    except OffTheScale as error:
        if len(tokens) == len(asked):
            raise
        raise OffTheScale(error.value, error.scale, error.what, _count_words(len(tokens), asked)) from None
    words, verdict = _words_and_verdict(rest)
    if verdict is not None and not poured.takes_verdicts:
        raise NothingToJudge(poured.code)
    return TypedScore(figures, words, verdict, asked[len(tokens) :])


def _count_words(typed: int, asked: tuple[str, ...]) -> str:
    """Return what follows a misfit where fewer figures are typed than are scored: one may stand in another's place."""
    return f"; {typed} of {len(asked)} figures stand there: {', '.join(asked)}; a dash leaves one out"


def _figure(token: str, poured: Flight, name: str) -> float | None:
    if token in _DASHES:
        return None
    value = float(read(Quantity.NUMBER, token))
    check_on_scale(value, scale_of(poured, name), name if poured.attributes else "")
    return value


def _words_and_verdict(text: str) -> tuple[str, Judgement | None]:
    """Part the words from the verdict: what stands after the last semicolon, or a line that is nothing but one."""
    words, semicolon, last = text.rpartition(";")
    if semicolon:
        return words.strip(), verdict_in(last) if last.strip() else None
    try:
        return "", verdict_in(text)
    except NotAVerdict:
        if any(
            text.casefold().startswith(f"{spelling} ") and len(spelling.split()) > 1 for spelling in VERDICT_SPELLINGS
        ):
            raise
        return text.strip(), None


def announced(typed: TypedScore, poured: Flight, units: Units = DEFAULT) -> str:
    """Return what Enter would take: "honey 6 · fruit 3 · acidity left out · still to come: overall"."""
    parts = [f"{name} {_shown(figure, units)}" for name, figure in typed.figures.items()]
    if typed.words:
        parts.append(f"“{typed.words}”")
    if typed.verdict is not None:
        parts.append(typed.verdict.words)
    if typed.to_come and len(asked_of(poured)) > 1:
        parts.append(f"still to come: {', '.join(typed.to_come)}")
    return " · ".join(parts)


def _shown(figure: float | None, units: Units) -> str:
    return "left out" if figure is None else show_short(Quantity.NUMBER, figure, units)


def as_line(given: Score, poured: Flight) -> str:
    """Return a score as the line that gives it: what `parse_glass_line` reads back to the same."""
    figures = [given.figure(name) for name in asked_of(poured)]
    typed = " ".join(LEFT_OUT if figure is None else f"{figure:.15g}" for figure in figures)
    words = f" {given.words}" if given.words else ""
    verdict = f"; {given.verdict.words}" if given.verdict is not None else ";" if ";" in given.words else ""
    return f"{typed}{words}{verdict}"
