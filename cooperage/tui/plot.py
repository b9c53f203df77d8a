"""Charts set in letters: each letter with the role of its colour, so that every theme and no colour at all show it.

`●` is a reading, `─` the calculated line, `╌` what is ahead or a limit, `░` where the figure lies 90 times of 100,
`╎` today. What matters more is set over what matters less.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime

from rich.text import Text
from textual.app import App

from cooperage.programme.page.charted import At, Chart
from cooperage.programme.page.lost import LostChart
from cooperage.programme.page.ticks import even_rows
from cooperage.tasting.vessels import VesselScore
from cooperage.tui.shared.ink import ink
from cooperage.units import counted, show_date

GUTTER = 8
"""Columns left of what is drawn: the values of the axis, and the axis."""
_EIGHTHS = " ▁▂▃▄▅▆▇█"

Letter = tuple[str, str]
"""A letter and the role of its colour."""


class LetterSheet:
    """Letters in rows, the highest first, above an axis; set one over the other.

    Of the rows given so many are used that the labels have even distances.
    """

    def __init__(self, columns: int, rows: int, ticks: Sequence[tuple[float, str]]) -> None:
        self.columns, self.rows = columns, even_rows(rows, len(ticks))
        self._low, self._high = ticks[0][0], ticks[-1][0]
        self._letters: list[list[Letter]] = [[(" ", "ink")] * columns for _ in range(self.rows)]
        self._labels = {self.row(value): words for value, words in ticks}

    def row(self, value: float) -> int:
        """Return the row in which a value lies, the first or the last if it is beyond them."""
        share = (value - self._low) / (self._high - self._low)
        return min(self.rows - 1, max(0, round((1 - share) * (self.rows - 1))))

    def set(self, column: int, row: int, letter: str, role: str) -> None:
        """Set a letter; beyond the sheet nothing is set."""
        if 0 <= column < self.columns and 0 <= row < self.rows:
            self._letters[row][column] = (letter, role)

    def put(self, column: int, row: int, words: str, role: str) -> None:
        """Set words, from a column on."""
        for nth, letter in enumerate(words):
            self.set(column + nth, row, letter, role)

    def texts(self, app: App[object], along: Iterable[tuple[int, str]]) -> list[Text]:
        """Return the sheet in its axes; `along` are columns with what stands below them, where there is room."""
        lines = []
        for nth, letters in enumerate(self._letters):
            text = Text(no_wrap=True).append(f"{self._labels.get(nth, ''):>{GUTTER - 2}} ", ink(app, "quiet"))
            text.append("┤" if nth in self._labels else "│", ink(app, "rule"))
            for run, role in _runs(letters):
                text.append(run, ink(app, role))
            lines.append(text)
        corner = Text(" " * (GUTTER - 1), no_wrap=True)
        lines.append(corner.append("└" + "─" * self.columns, ink(app, "rule")))
        lines.append(Text(" " * GUTTER + _spread(along, self.columns), ink(app, "quiet"), no_wrap=True))
        return lines


def _runs(letters: Sequence[Letter]) -> Iterable[tuple[str, str]]:
    run, role = "", ""
    for letter, its in letters:
        if its != role and run:
            yield run, role
            run = ""
        run, role = run + letter, its
    if run:
        yield run, role


def _spread(along: Iterable[tuple[int, str]], columns: int) -> str:
    """Set words at their columns; what would touch the words before, or reach beyond the end, is left out."""
    line = ""
    for column, words in along:
        if (not line or column >= len(line) + 2) and column + len(words) <= columns:
            line = f"{line:<{column}}{words}"
    return line


def chart_texts(chart: Chart, app: App[object], columns: int, rows: int) -> list[Text]:
    """Return a chart of a figure in rows of letters, axes included (two rows more than `rows`)."""
    sheet = LetterSheet(columns, rows, chart.ticks)
    for column, at in enumerate(chart.line):
        if at is not None:
            for row in range(sheet.row(at.high), sheet.row(at.low) + 1):
                sheet.set(column, row, "░", "mist")
    if chart.now is not None:
        for row in range(sheet.rows):
            sheet.set(chart.now, row, "╎", "rule")
    if chart.limit is not None:
        row, words = sheet.row(chart.limit), " limit "
        sheet.put(0, row, "╌" * (columns - len(words)) + words, "ember")
    _set_line(sheet, chart.line)
    for point in chart.points:
        sheet.set(point.column, sheet.row(point.value), "●", "ember" if point.is_beyond else "ink")
    return sheet.texts(app, chart.months)


def _set_line(sheet: LetterSheet, line: Sequence[At | None]) -> None:
    """Set the line through the columns; where it goes up or down by more than a row, upright between."""
    before: int | None = None
    for column, at in enumerate(line):
        if at is None:
            before = None
            continue
        row = sheet.row(at.value)
        if before is not None and abs(row - before) > 1:
            step = 1 if row > before else -1
            for between in range(before + step, row, step):
                sheet.set(column, between, "│", "quiet")
        sheet.set(column, row, "╌" if at.is_ahead else "─", "quiet")
        before = row


def lost_texts(chart: LostChart, app: App[object], columns: int, rows: int) -> list[Text]:
    """Return bars of what was lost beside marks of what is usual, in rows of letters (two rows more than `rows`)."""
    sheet = LetterSheet(columns, rows, chart.ticks)
    foot, head = chart.ticks[0][0], chart.ticks[-1][0]
    for bar in chart.bars:
        if bar.usual is not None:
            sheet.set(bar.column + 1, sheet.row(bar.usual), "╌", "quiet")
        for row, letter in bar_letters(bar.lost, foot, head, sheet.rows):
            sheet.set(bar.column, row, letter, "ember" if bar.is_much else "mead")
    return sheet.texts(app, chart.dates)


def bar_letters(value: float, foot: float, head: float, rows: int) -> list[tuple[int, str]]:
    """Return the rows of an upright bar from the foot of an axis, the highest first, with their letters.

    It is as high as its value to an eighth of a row, at least one eighth where there is any.
    """
    share = min(1.0, max(0.0, (value - foot) / (head - foot)))
    eighths = max(round(8 * rows * share), int(value > foot))
    whole, part = divmod(eighths, 8)
    letters = [(rows - 1 - nth, "█") for nth in range(whole)]
    return [*([(rows - 1 - whole, _EIGHTHS[part])] if part and whole < rows else []), *letters[::-1]]


_NARROWEST, _WIDEST, _BESIDE = 10, 40, 46
"""Columns of a flight's scale at the least and the most; what stands beside it takes."""


def score_texts(scores: Sequence[VesselScore], now: datetime, app: App[object], width: int) -> list[Text]:
    """Return what panels gave, newest first: a point on the flight's scale, the mean, and below it the words."""
    return [line for score in reversed(scores) for line in _score(score, now, app, width)]


def _score(score: VesselScore, now: datetime, app: App[object], width: int) -> Iterable[Text]:
    scale = max(_NARROWEST, min(_WIDEST, width - _BESIDE))
    text = Text(no_wrap=True).append(f"{show_date(score.at, now):<11} {score.flight:<6} ", ink(app, "quiet"))
    at = None if score.of_100 is None else round(score.of_100 / 100 * (scale - 1))
    for run, role in _runs([("●", "ink") if column == at else ("─", "rule") for column in range(scale)]):
        text.append(run, ink(app, role))
    mean = "?" if score.mean is None else f"{score.mean:.1f}"
    yield text.append(f" {mean:>5} of {score.scale}, {counted(score.tasters, 'taster')}", ink(app, "ink"))
    if score.words:
        yield Text(f"{'':<19}{'; '.join(dict.fromkeys(score.words))}", ink(app, "quiet"))
    yield Text("")
