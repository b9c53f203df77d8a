"""What barrels lost month by month as upright bars, each beside the band of what is usual for that month."""

from collections.abc import Sequence

from rich.text import Text
from textual.app import App

from cooperage.programme.ahead.lost import MonthLost
from cooperage.programme.page.charted import in_unit
from cooperage.programme.page.letter_grid import GUTTER
from cooperage.programme.page.ticks import ticks_in_rows
from cooperage.tui.shared.letter_sheet import LetterSheet, bar_letters
from cooperage.units import Quantity, Units

MONTH = 5
"""Columns of a month: its bar, the band beside it, a gap."""
_BAR = 2
_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def month_texts(months: Sequence[MonthLost], app: App[object], width: int, rows: int, units: Units) -> list[Text]:
    """Return the latest months there is room for, in `rows` rows with their names below; nothing where none is."""
    latest = months[-((width - GUTTER) // MONTH) :]
    if not latest:
        return []
    bars = [in_unit(Quantity.VOLUME, max(0, month.ml), units) for month in latest]
    bands = [_band(month, units) for month in latest]
    high = max([*bars, *(band[2] for band in bands if band is not None)])
    ticks = ticks_in_rows(0.0, max(high, 1e-3), rows, units)
    sheet = LetterSheet(width - GUTTER, rows, ticks)
    for nth, (value, band) in enumerate(zip(bars, bands, strict=True)):
        for row, letter in bar_letters(value, ticks[0][0], ticks[-1][0], sheet.rows):
            for column in range(_BAR):
                sheet.set(nth * MONTH + column, row, letter, "mead")
        if band is not None:
            for row in range(sheet.row(band[2]), sheet.row(band[0]) + 1):
                sheet.put(nth * MONTH + _BAR, row, "░░", "mist")
            sheet.put(nth * MONTH + _BAR, sheet.row(band[1]), "╌╌", "quiet")
    names = [(nth * MONTH, _NAMES[int(month.month[-2:]) - 1]) for nth, month in enumerate(latest)]
    return [line for nth, line in enumerate(sheet.texts(app, names)) if nth != sheet.rows]


def _band(month: MonthLost, units: Units) -> tuple[float, float, float] | None:
    if month.usual is None:
        return None
    low, middle, high = (
        in_unit(Quantity.VOLUME, ml, units) for ml in (month.usual.low, month.usual.ml, month.usual.high)
    )
    return low, middle, high
