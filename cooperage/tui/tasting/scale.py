"""A scale with figures and their bands on it, in characters: where a value stands, how far its band reaches."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite

_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 1000.0, 10_000.0)
_MOST_TICKS, _PARTS = 8, 5
_BETWEEN = 3
"""Blanks between two figures of the scale, at least."""


@dataclass(frozen=True, slots=True)
class DrawnScale:
    """The part of a scale that is drawn, `cells` wide: the first cell is `low`, the last is `high`."""

    low: float
    high: float
    cells: int

    def place(self, value: float) -> int:
        """Return the cell that a value stands in; what lies beyond an end stands in the last cell there."""
        share = (value - self.low) / (self.high - self.low)
        return min(max(round(share * (self.cells - 1)), 0), self.cells - 1)

    def figures(self) -> str:
        """Return the figures under or over the scale, each beginning in its own cell."""
        text = ""
        for figure in _ticks(self.low, self.high, self.cells):
            label = f"{figure:g}"
            at = min(self.place(figure), self.cells - len(label))
            if not text or at >= len(text) + 1:
                text = f"{text:<{at}}{label}"
        return f"{text:<{self.cells}}"

    def interval(self, value: float, band: float) -> tuple[int, int, int]:
        """Return the cells where a band begins, where its value stands and where the band ends."""
        at = self.place(value)
        reach = round(band / (self.high - self.low) * (self.cells - 1)) if isfinite(band) else 0
        return max(at - reach, 0), at, min(at + reach, self.cells - 1)

    def length(self, points: float) -> int:
        """Return how many cells so many points take, two at least, since a gap has two ends."""
        return min(max(round(points / (self.high - self.low) * (self.cells - 1)) + 1, 2), self.cells)


def scale_around(values: Sequence[float], bands: Sequence[float], ends: tuple[float, float], cells: int) -> DrawnScale:
    """Return the part of a scale that holds all values with their bands, cut at round figures and at its `ends`."""
    known = [
        (value, band if isfinite(band) else 0.0) for value, band in zip(values, bands, strict=True) if isfinite(value)
    ]
    low = min((value - band for value, band in known), default=ends[0])
    high = max((value + band for value, band in known), default=ends[1])
    step = _step(max(low, ends[0]), min(high, ends[1]), cells) / _PARTS
    first, last = max(ends[0], floor(low / step) * step), min(ends[1], ceil(high / step) * step)
    return DrawnScale(first, last, cells) if first < last else DrawnScale(*ends, cells)


def _step(low: float, high: float, cells: int) -> float:
    """Return the round step that gives as many figures as there is room for."""
    most = max(1, min(_MOST_TICKS, cells // (_BETWEEN + 2)))
    return next((step for step in _STEPS if (high - low) / step <= most), _STEPS[-1])


def _ticks(low: float, high: float, cells: int) -> list[float]:
    step = _step(low, high, cells)
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(nth * step, 6) for nth in range(first, last + 1)]
