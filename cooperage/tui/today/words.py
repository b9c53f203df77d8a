"""The lines of the day at a glance."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from rich.style import Style
from rich.text import Text

from cooperage.programme.orders.brief import brief_words
from cooperage.programme.orders.checked import Checked, Verdict
from cooperage.programme.orders.words import day_words
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.glance import Today
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.ordered import Ordered, day_of
from cooperage.programme.today.words import (
    alike_words,
    counts_words,
    full_words,
    head_day,
    reason_words,
    sure_column,
)
from cooperage.tui.shared.gauges import FigureColumns, figure_cells, figure_columns
from cooperage.tui.shared.ink import DUE, TROUBLE, state_shown
from cooperage.units import Units, local_day

CALCULATING = "Look first: calculating"

Ink = Callable[[str], Style]
"""Gives the style of a role."""

_SURE_WIDTH = 5
_FEWEST_COLUMNS = 70


@dataclass(frozen=True, slots=True)
class RowColumns:
    """How wide the columns of the rows are."""

    tag: int
    word: int
    figure: FigureColumns

    @property
    def before_why(self) -> int:
        """Where the reason begins."""
        return 2 + self.tag + 1 + self.word + 2 + self.figure.width + 2


def columns_of(found: Iterable[Matter]) -> RowColumns:
    """Return the columns for rows: as wide as the widest of each, rows of several aside."""
    single = [each for each in found if len(each.vessels) == 1]
    return RowColumns(
        tag=max((len(each.vessels[0]) for each in single), default=5),
        word=max((len(each.word) for each in single), default=8),
        figure=figure_columns(each.figure for each in single if each.figure is not None),
    )


def matter_line(matter: Matter, width: int, columns: RowColumns, ink: Ink) -> Text:
    """Return a row in `width` columns: mark, vessel, what, figure, why, how sure; a narrow one leaves the why out."""
    mark, role = state_shown(matter.state)
    line = Text(no_wrap=True)
    line.append(f"{mark} ", ink(role))
    sure = sure_column(matter)
    if len(matter.vessels) > 1:
        before = f"{matter.word}: "
        room = width - 2 - len(before) - max(_SURE_WIDTH, len(sure)) - 1
        line.append(f"{before}{alike_words(matter, room)}", ink("ink" if role != "quiet" else "quiet"))
    else:
        line.append(f"{matter.vessels[0]:<{columns.tag}} ", ink("ink") + Style(bold=True))
        line.append(f"{matter.word:<{columns.word}}  ", ink("ink"))
        value, rest = figure_cells(matter.figure, columns.figure)
        line.append(f"{value} ", ink("ink"))
        line.append(f"{rest}  ", ink("quiet"))
        if width >= _FEWEST_COLUMNS:
            room = width - line.cell_len - max(_SURE_WIDTH, len(sure)) - 1
            line.append(reason_words(matter, room)[:room], ink("quiet"))
    line.pad_right(max(0, width - line.cell_len - len(sure)))
    line.append(sure, ink("ink"))
    return line


def head_row(columns: RowColumns, width: int, hidden: str) -> str:
    """Return the heading over the rows, with how many are not in view."""
    why = "why" if width >= _FEWEST_COLUMNS else ""
    named = f"Look first{', ' if hidden else ''}{hidden}"
    return f"{f'{named:<{columns.before_why}}{why}':<{max(0, width - 4)}}sure"


# --- orders ---------------------------------------------------------------------------------------------------------

_VERDICTS = {
    Verdict.IMPOSSIBLE: state_shown(SignState.TROUBLE),
    Verdict.ASKED: state_shown(SignState.DUE),
    Verdict.POSSIBLE: (" ", "ink"),
}


def order_line(ordered: Ordered, today: date, units: Units, width: int, ink: Ink) -> Text:
    """Return one order in `width` columns: mark, number, day, what is to be done; a narrow one has no date if late.

    A flight to pour stands there without a number.
    """
    day = day_of(ordered)
    is_late, when = day < today, day_words(day, today)
    mark, role, number = DUE, "honey", ""
    if isinstance(ordered, Checked):
        (mark, role), number = _VERDICTS[ordered.verdict], str(ordered.order.number)
    if width >= _FEWEST_COLUMNS:
        number, when = f"{number:<3} ", f"{when:<12}  "
    else:
        number, when = f"{number:<2} ", f"{'late' if is_late else when:<8} "
    line = Text(no_wrap=True)
    line.append(f"{mark} ", ink(role))
    line.append(number, ink("ink"))
    line.append(when, ink("honey" if is_late else "quiet"))
    room = max(0, width - line.cell_len)
    line.append(brief_words(ordered, units, room) if isinstance(ordered, Checked) else ordered.words, ink("ink"))
    line.truncate(width, overflow="ellipsis")
    return line


def orders_head(found: Sequence[Ordered], today: date, hidden: str) -> str:
    """Return the heading of the orders: how many, how many are late or impossible, and how many are not in view."""
    late = sum(day_of(each) < today for each in found)
    stuck = sum(isinstance(each, Checked) and each.verdict is Verdict.IMPOSSIBLE for each in found)
    impossible = [f"{TROUBLE} {stuck} impossible"] if stuck else []
    parts = [str(len(found)), *([f"{late} late"] if late else []), *impossible]
    return f"Orders   {', '.join(parts)}{'; ' if hidden else ''}{hidden}"


def hidden_words(above: int, below: int) -> str:
    """Return how many rows of a list are not in view: "and 3 more below", "2 above, 1 below"; empty if none."""
    if above and below:
        return f"{above} above, {below} below"
    where = "above" if above else "below"
    return f"and {above or below} more {where}" if above or below else ""


def day_line(day: date, today: Today | None, width: int) -> str:
    """Return the day, the cellar's name, what is full, and at the right what is wrong and to do, once it is known."""
    if today is None:
        return head_day(day)
    right = counts_words(today)
    parts = [head_day(local_day(today.cellar.at)), *([today.name] if today.name else []), full_words(today)]
    while len(parts) > 1 and len("   ".join(parts)) + 2 + len(right) > width:
        parts.pop(1 if len(parts) > 2 else 0)
    return f"{'   '.join(parts):<{max(0, width - len(right))}}{right}"
