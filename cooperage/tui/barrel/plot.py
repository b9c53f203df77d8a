"""Charts set in letters: each letter with the role of its colour, so that every theme and no colour at all show it.

`●` is a reading, `─` the calculated line, `╌` what is ahead or a limit, `░` where the figure lies 90 times of 100,
`╎` today. What matters more is set over what matters less.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from textwrap import wrap

from rich.text import Text
from textual.app import App

from cooperage.programme.page.charted import At, Chart
from cooperage.programme.page.letter_grid import runs
from cooperage.programme.page.lost import LostChart
from cooperage.tasting.vessels import VesselScore
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.letter_sheet import LetterSheet, bar_letters
from cooperage.units import Quantity, Units, counted, show, show_date


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


_NARROWEST, _WIDEST, _BESIDE = 10, 40, 46
"""Columns of a flight's scale at the least and the most; what stands beside it takes."""
_INDENT = 19
"""Columns before what stands under a scale."""


def score_texts(scores: Sequence[VesselScore], now: datetime, app: App[object], width: int, units: Units) -> list[Text]:
    """Return what panels gave, newest first: a point on the flight's scale, the mean, and below it the words."""
    return [line for score in reversed(scores) for line in _score(score, now, app, width, units)]


def _score(score: VesselScore, now: datetime, app: App[object], width: int, units: Units) -> Iterable[Text]:
    scale = max(_NARROWEST, min(_WIDEST, width - _BESIDE))
    text = Text(no_wrap=True).append(f"{show_date(score.at, now):<11} {score.flight:<6} ", ink(app, "quiet"))
    at = None if score.of_100 is None else round(score.of_100 / 100 * (scale - 1))
    for run, role in runs([("●", "ink") if column == at else ("─", "rule") for column in range(scale)]):
        text.append(run, ink(app, role))
    mean = show(Quantity.NUMBER, score.mean, units, digits=1)
    yield text.append(f" {mean:>5} of {score.scale}, {counted(score.tasters, 'taster')}", ink(app, "ink"))
    for more in (_attributes(score, units), score.verdicts, "; ".join(dict.fromkeys(score.words))):
        for line in wrap(more, max(_NARROWEST, width - _INDENT), break_on_hyphens=False):
            yield Text(" " * _INDENT + line, ink(app, "quiet"), no_wrap=True)
    yield Text("")


def _attributes(score: VesselScore, units: Units) -> str:
    """Return what was scored besides, each scale named once: "honey 4.5, oak 4.3 on 0-10"."""
    by_scale: dict[str, list[str]] = {}
    for each in score.attributes:
        mean = show(Quantity.NUMBER, each.mean, units, digits=1)
        by_scale.setdefault(each.scale, []).append(f"{each.name} {mean}")
    return "; ".join(f"{', '.join(means)} on {scale}" for scale, means in by_scale.items())
