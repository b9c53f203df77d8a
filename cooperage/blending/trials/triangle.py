"""A fitted surface drawn in letters: a triangle for three stocks, a line for two."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.results import TrialResults, surface_at
from cooperage.units import DEFAULT, Quantity, Units, show

STEPS = 12
"""Steps of a share along a side: rows of the triangle, less one."""
BANDS = "abcdefg"
"""Letters of the bands of scores, the lowest first."""
BEST, OUTSIDE = "*", "."


@dataclass(frozen=True, slots=True)
class ScoreBand:
    """A band of scores: its letter, where it begins and where it ends."""

    letter: str
    low: float
    high: float


def lettered(values: Floats) -> tuple[list[ScoreBand], list[str]]:
    """Return equal bands over fitted scores, and the letter of each score; a point for one that is not known."""
    known = values[np.isfinite(values)]
    low, high = float(known.min()), float(known.max())
    width = (high - low) / len(BANDS)
    bands = [ScoreBand(letter, low + at * width, low + (at + 1) * width) for at, letter in enumerate(BANDS)]
    return bands, [OUTSIDE if np.isnan(each) else bands[_band(each, low, width)].letter for each in values]


def _band(value: float, low: float, width: float) -> int:
    return min(int((value - low) / width), len(BANDS) - 1) if width > 0 else 0


def plot_lines(found: TrialResults, units: Units = DEFAULT, steps: int = STEPS) -> list[str]:
    """Return the plot of a trial of two or three stocks, and its key; nothing for more stocks."""
    if len(found.trial.stocks) not in (2, 3):
        return []
    points = _points(len(found.trial.stocks), steps)
    bands, letters = lettered(surface_at(found, points))
    if found.best is not None:
        letters[int(np.abs(points - found.best.shares).sum(axis=1).argmin())] = BEST
    drawn = _triangle(found.trial.names, letters, steps) if points.shape[1] == 3 else _line(found.trial.names, letters)
    return [*drawn, *_key(bands, units)]


def _points(stocks: int, steps: int) -> Floats:
    """Return the blends of a plot: of three stocks row by row from the top, where all is the first."""
    if stocks == 2:
        share = np.arange(4 * steps + 1) / (4 * steps)
        return np.column_stack([1 - share, share])
    rows = [(steps - row, row - at, at) for row in range(steps + 1) for at in range(row + 1)]
    return np.array(rows, dtype=np.float64) / steps


def _triangle(names: list[str], letters: list[str], steps: int) -> Iterator[str]:
    left = iter(letters)
    width = 2 * steps + 1
    yield names[0].center(width).rstrip()
    for row in range(steps + 1):
        cells = " ".join(next(left) for _ in range(row + 1))
        yield cells.center(width).rstrip()
    yield names[1] + names[2].rjust(width - len(names[1]))


def _line(names: list[str], letters: list[str]) -> Iterator[str]:
    yield f"{names[0]} {''.join(letters)} {names[1]}"


def _key(bands: list[ScoreBand], units: Units) -> Iterator[str]:
    ends = [show(Quantity.NUMBER, each.low, units, digits=1) for each in bands]
    last = show(Quantity.NUMBER, bands[-1].high, units, digits=1)
    parts = [f"{each.letter} {low}" for each, low in zip(bands, ends, strict=True)]
    yield f"fitted score from: {'  '.join(parts)}  to {last}"
    yield f"{BEST} best blend; {OUTSIDE} outside the bounds and limits"
