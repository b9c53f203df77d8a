"""The median of a few numbers: NumPy's own takes ten times as long on so few, and loads its masked arrays for it."""

import numpy as np
from numpy.typing import NDArray


def median(values: NDArray[np.float64]) -> float:
    """Return the middling one of at least one number, or the mean of the two in the middle."""
    ordered = np.sort(values)
    middle = len(ordered) // 2
    return float(ordered[middle] + ordered[~middle]) / 2
