"""Points at which to try a mixture: lattices, centroids, and the corners of a restricted region."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, product

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.stocks.pool import Flags, Floats
from cooperage.errors import BadInput

LinearRange = tuple[Sequence[float], float | None, float | None]

ON_EDGE = 1e-9


class NoSuchDesign(BadInput):
    """The number of components, the degree or the bounds allow no design."""


def simplex_lattice(q: int, m: int) -> Floats:
    """Return the {q, m} simplex lattice: every blend of q components in steps of 1/m.

    Returns an array of shape (C(q+m-1, m), q) of proportions, pure components first in each column. Raises
    NoSuchDesign unless q >= 1 and m >= 1. Source: Scheffé 1958.

    >>> from cooperage.blending import simplex_lattice
    >>> simplex_lattice(2, 2).tolist()
    [[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]]
    """
    _check_counts(q=q, m=m)
    bars = np.array(list(combinations(range(q + m - 1), q - 1)), dtype=np.int64).reshape(math.comb(q + m - 1, m), q - 1)
    edges = np.column_stack([np.full(len(bars), -1), bars, np.full(len(bars), q + m - 1)])
    points: Floats = (np.diff(edges, axis=1) - 1)[::-1] / m
    return points


def simplex_centroid(q: int) -> Floats:
    """Return the simplex centroid design: the equal blend of every set of components.

    Returns an array of shape (2**q - 1, q) of proportions, pure components first. Raises NoSuchDesign unless q >= 1.
    Source: Scheffé 1963.

    >>> from cooperage.blending import simplex_centroid
    >>> simplex_centroid(2).tolist()
    [[1.0, 0.0], [0.0, 1.0], [0.5, 0.5]]
    """
    _check_counts(q=q)
    chosen = [members for size in range(1, q + 1) for members in combinations(range(q), size)]
    points = np.zeros((len(chosen), q))
    for point, members in zip(points, chosen, strict=True):
        point[list(members)] = 1.0 / len(members)
    return points


def extreme_vertices(lower: ArrayLike, upper: ArrayLike, linear: Sequence[LinearRange] = ()) -> Floats:
    """Return every corner of the region of mixtures between bounds.

    `lower` and `upper` have shape (q,), in proportions; `linear` adds ranges (coefficients, low, high) with
    low <= coefficients . x <= high, None for an open end. Returns an array of shape (points, q), in ascending order.
    Raises NoSuchDesign when no mixture lies between the bounds. Source: McLean and Anderson 1966; every corner has
    all but 1 + r components on a bound, where r of the linear ranges are on theirs.

    >>> from cooperage.blending import extreme_vertices
    >>> extreme_vertices([0.2, 0.2, 0.1], [0.6, 0.6, 0.6]).tolist()
    [[0.2, 0.2, 0.6], [0.2, 0.6, 0.2], [0.3, 0.6, 0.1], [0.6, 0.2, 0.2], [0.6, 0.3, 0.1]]
    """
    low, high = np.asarray(lower, dtype=np.float64), np.asarray(upper, dtype=np.float64)
    if low.ndim != 1 or low.shape != high.shape or (low > high).any():
        raise NoSuchDesign("extreme vertices need one lower and one upper bound a component, none above the other")
    planes = [
        (np.asarray(row, dtype=np.float64), bound) for row, *bounds in linear for bound in bounds if bound is not None
    ]
    found = [
        corner
        for size in range(len(planes) + 1)
        for on in combinations(planes, size)
        for corner in _corners(low, high, on)
    ]
    points = np.concatenate(found) if found else np.zeros((0, len(low)))
    within = points[inside(points, low, high, linear)]
    if not len(within):
        raise NoSuchDesign(_why_none(low, high))
    return np.unique(np.round(within, 12) + 0.0, axis=0)


def _why_none(low: Floats, high: Floats) -> str:
    if low.sum() > 1:
        return f"the least shares come to {low.sum():.4g} together, more than 1: no mixture has them; lower some"
    if high.sum() < 1:
        return f"the greatest shares come to {high.sum():.4g} together, less than 1: no mixture has them; raise some"
    return "no mixture lies between these bounds and within all limits; widen one"


def _check_counts(**numbers: int) -> None:
    for name, number in numbers.items():
        if number < 1:
            raise NoSuchDesign(f"{name} must be 1 or more, not {number}")


def _corners(low: Floats, high: Floats, planes: Sequence[tuple[Floats, float]]) -> Iterator[Floats]:
    """Yield the points where these planes hold and all but as many components as they need are on a bound."""
    rows = np.array([np.ones_like(low), *(row for row, _ in planes)])
    sides = np.array([1.0, *(side for _, side in planes)])
    if len(sides) > len(low):
        return
    for free in combinations(range(len(low)), len(sides)):
        held = [each for each in range(len(low)) if each not in free]
        square = rows[:, free]
        if abs(np.linalg.det(square)) < ON_EDGE:
            continue
        points = np.empty((2 ** len(held), len(low)))
        points[:, held] = list(product(*zip(low[held], high[held], strict=True)))
        points[:, free] = np.linalg.solve(square, sides[:, None] - rows[:, held] @ points[:, held].T).T
        yield points


def inside(points: Floats, low: Floats, high: Floats, linear: Sequence[LinearRange]) -> Flags:
    """Return which points, shape (n, q), lie between bounds and in each linear range."""
    kept: Flags = np.all((points >= low - ON_EDGE) & (points <= high + ON_EDGE), axis=1)
    for row, least, most in linear:
        value = points @ np.asarray(row, dtype=np.float64)
        kept &= (value >= (-np.inf if least is None else least - ON_EDGE)) & (
            value <= (np.inf if most is None else most + ON_EDGE)
        )
    return kept
