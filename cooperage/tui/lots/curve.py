"""The curve of a fermentation in letters: readings, the curve through them with its band, and how it goes on."""

from rich.text import Text
from textual.app import App

from cooperage.programme.page.fermented import FermentChart, draw_ferment
from cooperage.tui.shared.letter_sheet import LetterSheet


def ferment_texts(chart: FermentChart, app: App[object], columns: int, rows: int) -> list[Text]:
    """Return the chart of a fermentation in rows of letters, axes included (two rows more than `rows`)."""
    sheet = LetterSheet(columns, rows, chart.ticks)
    draw_ferment(sheet, chart)
    return sheet.texts(app, chart.days)
