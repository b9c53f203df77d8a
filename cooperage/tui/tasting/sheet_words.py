"""One glass to score as lines: its code large, what is scored on which scale, the taster's own figures as bars."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from rich.style import Style
from rich.text import Text

from cooperage.book.declared.verdicts import VERDICTS
from cooperage.tasting.flights import Flight, Score, share_of_scale
from cooperage.tasting.flights.line import asked_of, scale_of
from cooperage.tasting.flights.vocabulary import WORD, Term
from cooperage.tui.shared.gauges import lying_bar, whole_phrases
from cooperage.tui.shared.ink import DONE
from cooperage.units import Quantity, Units, show

Inks = Callable[[str], Style]

_BAR, _LEFT_OUT = 10, "  –"
_ROW, _NARROW_ROW = "  {:<15} {:<13} {:<6}  ", "  {:<12} {:<11} {:<6}  "
_NARROW, _WIDE, _IN = 70, 110, 30
"""Columns below which the parts of a row stand close; from which all is set in, by so many columns."""
_FRAMED, _WITH_ORDER, _WITH_WORDS = 9, 11, 16
"""Lines beside the rows of figures from which the code has a frame, the order is named, the cellar's words stand."""


@dataclass(slots=True)
class GlassInHand:
    """What the sheet of one taster shows: the glass in hand, what its line gives so far, and the glasses around it.

    `order` are the codes as this taster meets them, `done` those that this taster has scored, `at` the one in hand;
    `reached` is how many figures are typed.
    """

    flight: Flight
    order: Sequence[str]
    at: int
    given: Score
    reached: int
    done: frozenset[str] = frozenset()
    terms: Sequence[Term] = field(default_factory=tuple)

    @property
    def code(self) -> str:
        """The code of the glass in hand."""
        return self.order[self.at]


def sheet_title(taster: str, hand: GlassInHand) -> str:
    """Return who scores which glass of how many."""
    control = ", the known control" if hand.flight.glass(hand.code).is_reference else ""
    return f"{taster}, glass {hand.at + 1} of {len(hand.order)}{control}"


def sheet_lines(hand: GlassInHand, width: int, height: int, units: Units, inks: Inks) -> tuple[list[Text], int]:
    """Return the lines of a glass in the room there is, and in which of them the next figure goes."""
    rows = _rows(hand, width, units, inks)
    spare = height - len(rows)
    head = _framed(hand.code, width) if spare >= _FRAMED else [Text(f"  glass {hand.code}", "bold"), Text("")]
    around = [Text(""), _around(hand, width, inks)]
    if spare >= _WITH_ORDER:
        around.append(Text(f"  Glasses stand in your own order: {', '.join(hand.order)}.", inks("quiet")))
    if width >= _WIDE and spare >= _WITH_WORDS:
        around += [Text(""), Text(""), *_words_of_the_cellar(hand.terms, width - 2 * _IN, inks)]
    lines = [*head, *rows, *around]
    if width >= _WIDE:
        lines = [*head, *(_set_in(line, _IN) for line in lines[len(head) :])]
    return lines, len(head) + 1 + min(hand.reached, len(asked_of(hand.flight)))


def _framed(code: str, width: int) -> list[Text]:
    """Return the code in a frame, large enough to be held against the glass."""
    side = "─" * (len(code) + 4)
    frame = (f"┌{side}┐", f"│  {code}  │", f"└{side}┘")
    return [Text(""), *(Text(line.center(width).rstrip(), "bold") for line in frame), Text("")]


def _set_in(line: Text, columns: int) -> Text:
    return Text(" " * columns).append_text(line) if line.plain else line


def _rows(hand: GlassInHand, width: int, units: Units, inks: Inks) -> list[Text]:
    row = _NARROW_ROW if width < _NARROW else _ROW
    lines = [Text(row.format("attribute", "scale", "yours").rstrip(), inks("quiet"))]
    for nth, name in enumerate(asked_of(hand.flight)):
        scale = scale_of(hand.flight, name)
        figure = hand.given.figure(name)
        is_left_out = figure is None and nth < hand.reached
        written = _LEFT_OUT if is_left_out else "" if figure is None else _written(figure, units)
        line = Text(row.format(name, _spaced(scale), written), no_wrap=True)
        if figure is not None:
            share = share_of_scale(figure, scale)
            taken, rest = lying_bar(share, 1.0 - share, 1.0, _BAR)
            line.append(taken, inks("mead")).append(rest, inks("mist"))
        lines.append(line)
    room = width - (2 * _IN if width >= _WIDE else 0)
    lines.append(_named("words", hand.given.words, room, "ink", inks))
    if not hand.flight.takes_verdicts:
        return lines
    verdict = hand.given.verdict
    shown, role = (" · ".join(VERDICTS), "quiet") if verdict is None else (verdict.words, "ink")
    return [*lines, _named("verdict", shown, room, role, inks)]


def _named(name: str, words: str, width: int, role: str, inks: Inks) -> Text:
    begin = f"  {name:<15} " if width >= _NARROW else f"  {name:<8}"
    room = max(0, width - len(begin))
    return Text(begin, no_wrap=True).append(whole_phrases(words, room, " · ") or words[:room], inks(role))


def _written(figure: float, units: Units) -> str:
    """Return a figure with blanks around, so that the points of all stand under each other."""
    text = show(Quantity.NUMBER, figure, units).rstrip("0").rstrip(".,") if figure % 1 else f"{figure:.0f}"
    whole, point, part = text.partition(units.decimal)
    return f"{whole:>3}{point}{part}"


def _spaced(scale: str) -> str:
    """Return a scale as it is read: "0 – 10"."""
    low, dash, high = scale.partition("-")
    return f"{low} – {high}" if dash else scale


def _around(hand: GlassInHand, width: int, inks: Inks) -> Text:
    """List the glasses before, ticked where they are scored, and those that come next."""
    room = min(width, 78) - 4
    before = [f"{DONE} {code}" if code in hand.done else code for code in hand.order[: hand.at]]
    after = [f"{DONE} {code}" if code in hand.done else code for code in hand.order[hand.at + 1 :]]
    while len(_joined(before, after)) > room and len(before) + len(after) > 1:
        (before if len(before) > len(after) else after).pop(0 if len(before) > len(after) else -1)
    line = Text("  ", no_wrap=True)
    for word, codes in (("before", before), ("next", after)):
        if codes:
            line.append(f"{word:<7}", inks("quiet"))
            for code in codes:
                mark, space, rest = code.rpartition(" ")
                line.append(f"  {mark}{space}", inks("rain")).append(rest)
            line.append("      ")
    line.rstrip()
    return line


def _joined(before: Iterable[str], after: Iterable[str]) -> str:
    return f"before   {'  '.join(before)}      next   {'  '.join(after)}"


def _words_of_the_cellar(terms: Sequence[Term], width: int, inks: Inks) -> list[Text]:
    """Return the cellar's tasting words by family, two families a line."""
    families: dict[str, list[str]] = {}
    for term in terms:
        if term.kind == WORD and term.retired_at is None:
            families.setdefault(term.family or "other", []).append(term.name)
    lines = [Text("  Words of this cellar", "bold").append("   type one, or its first letters", inks("quiet"))]
    for family, names in families.items():
        line = Text(f"  {family:<13} ", inks("quiet"), no_wrap=True)
        lines.append(line.append(whole_phrases(", ".join(names), width - 16), inks("ink")))
    return lines
