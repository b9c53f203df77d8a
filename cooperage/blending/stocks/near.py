"""How near each stock on its own is to the limits of a brief: which can help it first, and what the others miss."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cooperage.blending.brief.brief import Bound, Brief
from cooperage.blending.brief.figures import figure_name
from cooperage.blending.brief.quantities import FigureText, QuantityText
from cooperage.blending.stocks.pool import Floats, Stocks


@dataclass(frozen=True, slots=True)
class Near:
    """How far a stock lies from the limits: 0 within all of them, infinite where a figure is unknown.

    `miss` adds up, over the limits, how far its figure lies outside in standard deviations of that figure among the
    stocks; `words` are the misses, the greatest first.
    """

    miss: float = 0.0
    words: str = ""

    @property
    def is_known(self) -> bool:
        """Return True if every figure that is limited is known of it."""
        return math.isfinite(self.miss)


def near_limits(stocks: Stocks, brief: Brief) -> dict[str, Near]:
    """Return how near each stock is to the brief's limits, by its name; figures that no stock has are passed over."""
    spans = {name: span for name, span in brief.limits.items() if name in stocks.figures}
    over = {name: _outside(stocks.figures[name], span) for name, span in spans.items()}
    widths = {name: _width(stocks.figures[name]) for name in spans}
    return {str(stock): _near(at, over, widths) for at, stock in enumerate(stocks.names)}


def _outside(figures: Floats, span: Bound) -> Floats:
    """Return how far figures lie outside a span, above it positive and below it negative; NaN for an unknown one."""
    outside: Floats = np.maximum(figures - span.high, 0.0) - np.maximum(span.low - figures, 0.0)
    return outside


def _width(figures: Floats) -> float:
    known = figures[np.isfinite(figures)]
    return float(known.std()) or 1.0 if len(known) else 1.0


def _near(at: int, over: dict[str, Floats], widths: dict[str, float]) -> Near:
    by = {name: float(each[at]) for name, each in over.items() if each[at] != 0.0}
    unknown = [name for name, value in by.items() if math.isnan(value)]
    if unknown:
        return Near(math.inf, f"{figure_name(unknown[0])} unknown")
    misses = {name: abs(value) / widths[name] for name, value in by.items()}
    worst_first = sorted(misses, key=lambda name: -misses[name])
    return Near(sum(misses.values()), _misses(worst_first, by))


def _misses(names: list[str], by: dict[str, float]) -> QuantityText:
    def parts() -> Iterator[str | FigureText]:
        for place, name in enumerate(names):
            sign = "+" if by[name] > 0 else "−"
            yield f"{', ' if place else ''}{figure_name(name)} {sign}"
            yield FigureText(name, abs(by[name]))

    return QuantityText(*parts())
