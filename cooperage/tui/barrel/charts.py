"""The charts of a vessel, one at a time, or four where there is room, each with its title and its line ahead."""

from collections.abc import Sequence

from rich.text import Text
from textual.app import App
from textual.geometry import Size

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.page.charted import CHARTED, Chart, figure_chart
from cooperage.programme.page.letter_grid import GUTTER
from cooperage.programme.page.lost import LostChart, lost_chart
from cooperage.programme.page.past import Past
from cooperage.tui.barrel.plot import chart_texts, lost_texts, score_texts
from cooperage.tui.shared.ink import TROUBLE, ink
from cooperage.units import Units, counted

_LEGEND = "● measured  ─ calculated  ╌ ahead, and limit  ░ 90 in 100 lie here  ╎ today"
_SHORT_LEGEND = "● measured  ─ calculated  ╌ ahead  ░ 90 %  ╎ today"
_OF_LOST, _OF_SCORES = "█ lost until a visit, as much as in a month  ╌ usual", "● mean of the tasters"
_BETWEEN, _AROUND = 3, 5
"""Columns between two charts; rows that a chart takes besides its letters: title, axis, dates, what is ahead, a gap."""
_WIDE, _TALL = 110, 30


class Charts:
    """The charts that a vessel has, made for its page as it is now; drawn once for each size."""

    def __init__(
        self, standing: Standing, past: Past, rate: LossRate | None, app: App[object], units: Units, size: Size
    ) -> None:
        self._standing, self._past, self._rate = standing, past, rate
        self._app, self._units, self._size = app, units, size
        self.names = [name for name in CHARTED if self._has(name)]

    def _has(self, name: str) -> bool:
        if name == "score":
            return bool(self._past.scores)
        return bool(self._past.lost if name == "lost" else self._past.measured.get(name))

    @property
    def at_once(self) -> int:
        """How many there is room for at once."""
        return 4 if self._size.width >= _WIDE and self._size.height >= _TALL else 1

    def page(self, first: int) -> Text:
        """Return the charts from the `first` on, as many as there is room for, with their legend and their count."""
        if not self.names:
            words = f"{self._standing.tag}: nothing was measured here yet."
            return Text(words, ink(self._app, "quiet"))
        shown = self.names[first : first + self.at_once]
        width, height = self._size
        columns = (width - _BETWEEN) // 2 if self.at_once > 1 else width
        tall = (height - 2) // 2 if self.at_once > 1 else height - 2
        drawn = [self._one(name, columns, tall) for name in shown]
        rows = [_beside(drawn[nth : nth + 2], columns) for nth in range(0, len(drawn), 2)]
        lines = [line for row in rows for line in row] if self.at_once > 1 else drawn[0]
        lines += [Text("")] * (height - 2 - len(lines))
        return Text("\n").join(
            [*lines, Text(_legend(shown, width), ink(self._app, "quiet")), self._count(first, shown)]
        )

    def _count(self, first: int, shown: Sequence[str]) -> Text:
        last = first + len(shown)
        which = f"{first + 1}" if len(shown) == 1 else f"{first + 1} to {last}"
        more = "the page again" if last >= len(self.names) else "the next"
        words = f"{which} of {counted(len(self.names), 'chart')}; v shows {more}, ← → the neighbours"
        return Text(words, ink(self._app, "quiet"))

    def _one(self, name: str, width: int, height: int) -> list[Text]:
        columns, rows = width - GUTTER - 1, max(4, height - _AROUND)
        if name == "score":
            title = self._title("panel scores", "each on the scale of its flight", width, is_trouble=False)
            return [title, Text(""), *score_texts(self._past.scores, self._standing.at, self._app, width, self._units)]
        if name == "lost":
            lost = lost_chart(self._standing, self._past, self._rate, columns, rows, self._units)
            return [] if lost is None else self._lost(lost, width, columns, rows)
        chart = figure_chart(self._standing, self._past, name, columns, rows, self._units)
        if chart is None:
            return [Text(f"{PROPERTIES[name].label}: not measured in this fill", ink(self._app, "quiet"))]
        return self._figure(chart, width, columns, rows)

    def _title(self, title: str, beside: str, width: int, *, is_trouble: bool) -> Text:
        """Return the title of a chart, and at the right end how things stand."""
        tag = f"{self._standing.tag}  " if self.at_once == 1 else ""
        text = Text(no_wrap=True).append(f"{tag}{title}", ink(self._app, "ink", bold=True))
        text.append(" " * max(1, width - text.cell_len - len(beside) - 1))
        return text.append(beside, ink(self._app, "ember" if is_trouble else "quiet"))

    def _figure(self, chart: Chart, width: int, columns: int, rows: int) -> list[Text]:
        beside = f"{TROUBLE} {chart.today}" if chart.is_trouble else chart.today
        title = self._title(chart.title, beside, width, is_trouble=chart.is_trouble)
        ahead = Text(" " * GUTTER + chart.ahead, ink(self._app, "quiet"), no_wrap=True)
        return [title, *chart_texts(chart, self._app, columns, rows), ahead, Text("")]

    def _lost(self, chart: LostChart, width: int, columns: int, rows: int) -> list[Text]:
        title = self._title(chart.title, f"╌ {chart.usual}" if chart.usual else "", width, is_trouble=False)
        much = f"{TROUBLE} {counted(chart.much, 'visit')} found far more than usual" if chart.much else ""
        below = Text(" " * GUTTER + much, ink(self._app, "ember"), no_wrap=True)
        return [title, *lost_texts(chart, self._app, columns, rows), below, Text("")]


def _legend(shown: Sequence[str], width: int) -> str:
    """Return what the letters of the charts mean; of figures, where one is shown, else of the one that is."""
    if any(name not in ("lost", "score") for name in shown):
        return _LEGEND if width >= len(_LEGEND) else _SHORT_LEGEND
    return _OF_LOST if shown[0] == "lost" else _OF_SCORES


def _beside(charts: Sequence[Sequence[Text]], columns: int) -> list[Text]:
    """Set charts side by side, each so many columns wide."""
    height = max(len(chart) for chart in charts)
    lines = []
    for nth in range(height):
        line = Text("", no_wrap=True)
        for chart in charts:
            part = chart[nth] if nth < len(chart) else Text("")
            line.append_text(part)
            line.append(" " * max(0, columns + _BETWEEN - part.cell_len))
        lines.append(line)
    return lines
