"""Charts of a vessel over time, drawn in characters."""

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from math import ceil, floor, log10

from textual.color import Color
from textual_plotext import PlotextPlot

from cooperage.book.declared.properties import PROPERTIES
from cooperage.units import Quantity, Units, show_day

CHARTS: dict[str, tuple[str, Quantity | None]] = {
    "litres": ("level", Quantity.VOLUME),
    **{
        name: (PROPERTIES[name].label, PROPERTIES[name].quantity)
        for name in ("abv", "sugar_g_l", "free_so2_mg_l", "va_g_l")
    },
    "score": ("score", None),
}
"""The series that are drawn: their label, and the quantity they are in."""

Points = Sequence[tuple[datetime, float]]


class Chart(PlotextPlot):
    """One series over time, in the person's units."""

    def __init__(self, name: str) -> None:
        super().__init__(id=f"chart-{name}", classes="chart")
        self.series = name

    def draw(self, points: Points, units: Units) -> None:
        """Draw the points; without any, show that nothing was measured."""
        label, quantity = CHARTS[self.series]
        unit = "" if quantity is None else units.usual(quantity).written("").strip()  # a longer name is left out unseen
        self.plt.clear_figure()
        self.plt.title(f"{label}, {unit}" if unit else label)
        if points:
            at = [when.timestamp() for when, _ in points]
            values = [chart_value(self.series, value, units) for _, value in points]
            colour = Color.parse(self.app.theme_variables["primary"]).rgb
            self.plt.plot(at, values, marker="hd", color=colour)
            ticks, labels = round_ticks(min(values), max(values))
            self.plt.ylim(ticks[0], ticks[-1])
            self.plt.yticks(ticks, labels)
            self.plt.xticks([at[0], at[-1]], [show_day(points[0][0]), show_day(points[-1][0])])
        else:
            self.plt.title(f"{label}: not measured yet")
            self.plt.frame(False)
        self.refresh()


def round_ticks(low: float, high: float) -> tuple[list[float], list[str]]:
    """Return three to six evenly spaced round values that enclose low to high, and how each is written."""
    if high == low:
        margin = abs(high) / 20 or 0.5
        low, high = low - margin, high + margin
    tenth = 10.0 ** floor(log10((high - low) / 4))
    step = next(tenth * times for times in (1, 2, 5, 10) if tenth * times * 4 >= high - low)
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    ticks = [step * nth for nth in range(first, last + 1)]
    decimals = max(0, -floor(log10(step) + 1e-9))
    return ticks, [f"{tick:.{decimals}f}" for tick in ticks]


def chart_value(series: str, value: float, units: Units) -> float:
    """Return a canonical value in the unit in which the person reads it (the series has volumes in litres)."""
    quantity = CHARTS[series][1]
    if quantity is None:
        return value
    canonical = round(value * 1000) if quantity is Quantity.VOLUME else Fraction(value)
    return float(units.usual(quantity).from_canonical(Fraction(canonical)))
