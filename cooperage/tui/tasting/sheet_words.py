"""One glass to score as lines: its code large, its row in the list with the score as a bar, what Enter takes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.style import Style
from rich.text import Text

from cooperage.errors import BadInput
from cooperage.tasting.flights import Score, share_of_scale
from cooperage.tasting.in_line import LEFT_OUT, scores_in_line
from cooperage.tui.shared.gauges import lying_bar
from cooperage.tui.shared.ink import DONE, HERE
from cooperage.units import Quantity, Units, read, show

_BAR = 20
_ROW = "{:<2}{:>3}   {:<5} {:>7}   "


@dataclass(slots=True)
class ScoredGlass:
    """A glass on the sheet of one taster: what is typed for it, and what the book holds, each score and words."""

    code: str
    position: int
    typed: tuple[str, str] = ("", "")
    kept: tuple[str, str] = ("", "")

    @property
    def is_changed(self) -> bool:
        """Return True if something is typed that the book does not hold."""
        return self.typed != self.kept


def as_typed(given: Score | None, units: Units) -> tuple[str, str]:
    """Return score and words of the book as they would be typed."""
    if given is None:
        return "", ""
    score = "" if given.value is None else show(Quantity.NUMBER, given.value, units).rstrip("0").rstrip(".,")
    return score, given.words


def code_lines(code: str) -> str:
    """Return the code of a glass in a frame, large enough to be held against the glass."""
    return f"┌{'─' * (len(code) + 4)}┐\n│  {code}  │\n└{'─' * (len(code) + 4)}┘"


def sheet_head() -> str:
    """Return the head of the list of glasses."""
    return f"{_ROW.format('', '', 'glass', 'score')}{'':<{_BAR}}  words"


def sheet_line(glass: ScoredGlass, scale: str, is_here: bool, units: Units, inks: Callable[[str], Style]) -> Text:
    """Return a glass in one line: written, here or still to come, and its score as a bar on the scale."""
    score, words = glass.typed
    mark, role = (HERE, "ink") if is_here else (DONE, "rain") if any(glass.kept) else ("", "ink")
    line = Text(_ROW.format(mark, glass.position, glass.code, _on_the_point(score, units)), no_wrap=True)
    line.stylize(inks(role), 0, 2)
    taken, rest = _bar(score, scale, units)
    return line.append(taken, inks("mead")).append(rest, inks("mist")).append(f"  {words}", inks("quiet"))


def _on_the_point(score: str, units: Units) -> str:
    """Return a score with blanks behind, so that set flush right the points of all stand under each other."""
    whole, point, part = score.partition(units.decimal)
    return f"{whole[:4]}{point + part:<3}"


def _bar(score: str, scale: str, units: Units) -> tuple[str, str]:
    try:
        share = share_of_scale(float(read(Quantity.NUMBER, score, units)), scale)
    except BadInput:  # nothing is typed yet, or several scores in a row
        return "", " " * _BAR
    return lying_bar(share, 1.0 - share, 1.0, _BAR)


def announced(typed: str, scale: str, codes: Sequence[str]) -> str:
    """Return which of the glasses from here on would get which score if Enter were pressed; "" where none would."""
    if not typed.strip():
        return ""
    figures = scores_in_line(typed.strip(), scale, len(codes))
    given = [f"{code} {figure}" for code, figure in zip(codes, figures, strict=False) if figure != LEFT_OUT]
    return f"Enter writes {' · '.join(given)}" if given else ""
