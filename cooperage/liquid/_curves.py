"""Functions kept as tables: smooth curves read off to machine precision, and printed tables read between the lines."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from cooperage.liquid._ranges import Floats

CELLS = 4096  # cubic pieces this narrow err by less than float64 resolves for the curves used here
BLOCK = 16_384  # figures worked on at a time, so that they stay in the processor's cache


def in_blocks(function: Callable[..., Floats], *figures: Floats) -> Floats:
    """Apply an element by element function to arrays of one shape, a cache-full at a time."""
    if figures[0].size <= BLOCK:
        return function(*figures)
    flat = [each.reshape(-1) for each in figures]
    outcome = np.empty_like(flat[0])
    for start in range(0, outcome.size, BLOCK):
        block = slice(start, start + BLOCK)
        outcome[block] = function(*(each[block] for each in flat))
    return outcome.reshape(figures[0].shape)


class Curve:
    """Piecewise cubic through equally spaced points, with the slopes of the function there (Hermite)."""

    def __init__(self, low: float, high: float, values: Floats, slopes: Floats) -> None:
        self.low = low
        self.width = (high - low) / (len(values) - 1)
        rise, left, right = np.diff(values), self.width * slopes[:-1], self.width * slopes[1:]
        self.pieces = np.stack([values[:-1], left, 3 * rise - 2 * left - right, left + right - 2 * rise], axis=-1)

    def _place(self, x: Floats) -> tuple[Floats, Floats]:
        """Return how far x is into its piece, and the pieces: the four coefficients of each along the last axis."""
        along = (x - self.low) / self.width
        with np.errstate(invalid="ignore"):  # NaN falls into the first piece and comes out as NaN
            piece = np.minimum(np.maximum(along.astype(np.intp), 0), len(self.pieces) - 1)
        return along - piece, self.pieces.take(piece, axis=0, mode="clip")  # without a second check of bounds

    def __call__(self, x: Floats) -> Floats:
        """Return the value at `x`, an array of any shape."""
        return in_blocks(self._value, x)

    def _value(self, x: Floats) -> Floats:
        s, c = self._place(x)
        value: Floats = ((c[..., 3] * s + c[..., 2]) * s + c[..., 1]) * s + c[..., 0]
        return value

    def with_slope(self, x: Floats) -> tuple[Floats, Floats]:
        """Return value and slope at `x`."""
        s, c = self._place(x)
        third = c[..., 3] * s
        second = third + c[..., 2]  # Horner's rule twice over: its steps are the coefficients of the slope
        first = second * s + c[..., 1]
        return first * s + c[..., 0], ((third + second) * s + first) / self.width


def bilinear(rows: Floats, columns: Floats, table: Floats, y: Floats, x: Floats) -> Floats:
    """Read between the lines and columns of a printed table, straight both ways."""
    i, down = _between(rows, y)
    j, across = _between(columns, x)
    above: Floats = (1.0 - across) * table[i, j] + across * table[i, j + 1]
    below: Floats = (1.0 - across) * table[i + 1, j] + across * table[i + 1, j + 1]
    return (1.0 - down) * above + down * below


def _between(nodes: Floats, x: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the node below x, and how far x is on the way to the next."""
    node = np.clip(np.searchsorted(nodes, x, side="right") - 1, 0, len(nodes) - 2)
    return node, (x - nodes[node]) / (nodes[node + 1] - nodes[node])
