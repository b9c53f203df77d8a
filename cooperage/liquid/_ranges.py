"""The door every figure passes on its way into a formula: made a float array, and inside its range.

NaN passes: it means "unknown", and whatever is calculated from it is unknown too.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput, OutOfRange

Floats: TypeAlias = NDArray[np.float64]  # a scalar in comes out as numpy.float64, an array of shape ()

LARGEST = float(np.finfo(np.float64).max)


class NotANumber(BadInput):
    """Something other than a number was handed to a formula."""

    def __init__(self, quantity: str, given: object) -> None:
        self.quantity, self.given = quantity, given
        super().__init__(f"{quantity} must be a number, not {given!r}")


class OutsideFormula(OutOfRange):
    """A figure lies where the published formula is not known to hold."""

    def __init__(self, quantity: str, given: float, low: float, high: float, unit: str) -> None:
        self.quantity, self.given, self.low, self.high, self.unit = quantity, given, low, high, unit
        limits = f"{low:g} or more" if high >= LARGEST else f"between {low:g} and {high:g}"
        super().__init__(f"{quantity} must be {limits} {unit}".rstrip() + f", not {given:g}")


def within(quantity: str, value: ArrayLike, low: float, high: float = LARGEST, unit: str = "") -> Floats:
    """Return `value` as a float array, or raise if any of it lies outside `low` to `high`."""
    try:
        figures = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise NotANumber(quantity, value) from error
    outside = (figures < low) | (figures > high)
    if outside.any():
        raise OutsideFormula(quantity, float(figures[outside].flat[0]), low, high, unit)
    return figures


def polynomial(coefficients: tuple[float, ...], x: Floats) -> Floats:
    """Evaluate c0 + c1 x + c2 x² + ... by Horner's rule, in place (no temporary arrays)."""
    total = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        total *= x
        total += coefficient
    return total[()]


def derivative(coefficients: tuple[float, ...]) -> tuple[float, ...]:
    """Return the coefficients of the derivative of c0 + c1 x + c2 x² + ..."""
    return tuple(power * c for power, c in enumerate(coefficients))[1:] or (0.0,)
