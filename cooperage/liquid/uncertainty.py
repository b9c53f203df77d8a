"""Carrying a standard uncertainty through any function here, to first order and by Monte Carlo (JCGM 100 and 101).

Both take the function itself, so every figure this package calculates can have one. First order is quick and good
where the function is nearly straight over the uncertainty; `monte_carlo` shows where it is not.
"""

from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput, OutOfRange
from cooperage.liquid._ranges import Floats, within

Distribution: TypeAlias = Literal["normal", "rectangular", "triangular", "arcsine"]

# half width over standard uncertainty
HALF_WIDTHS: dict[str, float] = {"rectangular": 3.0**0.5, "triangular": 6.0**0.5, "arcsine": 2.0**0.5}
STEP = 0.01  # of a standard uncertainty, for slopes


class Estimate(NamedTuple):
    """A figure and how well it is known, to first order."""

    value: Floats
    standard_uncertainty: Floats
    contributions: Floats
    """Of each input, along the first axis; squared they add up (where inputs are independent)."""


class Spread(NamedTuple):
    """A figure and how well it is known, by drawing."""

    mean: Floats
    standard_uncertainty: Floats
    low: Floats
    """2.5 % of the draws lie below."""
    high: Floats
    """2.5 % of the draws lie above."""


class UnknownDistribution(BadInput):
    """No such distribution is kept."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"the distribution is one of normal, {', '.join(HALF_WIDTHS)}, not {name!r}")


def standard_uncertainty(half_width: ArrayLike, distribution: Distribution = "rectangular") -> Floats:
    """Standard uncertainty of something known to lie within plus or minus a half width.

    Parameters
    ----------
    half_width : array, any shape
        [any unit], 0 or more
    distribution : str
        [name], "rectangular", "triangular" or "arcsine"

    Returns
    -------
    array, same shape [the same unit]

    Raises
    ------
    OutsideFormula
        A half width below zero.
    UnknownDistribution
        The distribution is none of those named.

    Source
    ------
    JCGM 100:2008, 4.3: half width over the square root of 3, 6 or 2.

    Examples
    --------
    >>> round(float(standard_uncertainty(0.3)), 3)
    0.173

    """
    width = within("half width", half_width, 0.0)
    if distribution not in HALF_WIDTHS:
        raise UnknownDistribution(distribution)
    return width / HALF_WIDTHS[distribution]


def first_order(
    function: Callable[..., ArrayLike],
    values: Sequence[ArrayLike],
    uncertainties: Sequence[ArrayLike],
    correlation: ArrayLike | None = None,
) -> Estimate:
    """Propagate standard uncertainties through a function by its slopes.

    Parameters
    ----------
    function : callable
        [value], of as many arrays as there are values, element by element
    values : sequence of arrays, broadcast together
        [each in its unit]
    uncertainties : sequence of arrays, broadcast together
        [each in its value's unit], 0 or more
    correlation : array, shape (inputs, inputs)
        [1], -1 to 1

    Returns
    -------
    Estimate of arrays, broadcast shape [the function's unit]: value, standard_uncertainty, contributions (inputs, ...)

    Raises
    ------
    OutsideFormula
        An uncertainty below zero, a correlation beyond one, or a value outside the function's own range.

    Source
    ------
    JCGM 100:2008 (GUM), 5.1 and 5.2, with slopes by central differences (one-sided at the edge of a range).

    Examples
    --------
    >>> product = first_order(lambda a, b: a * b, [2.0, 3.0], [0.1, 0.2])
    >>> round(float(product.standard_uncertainty), 3)  # the root of (3 x 0.1)² + (2 x 0.2)²
    0.5

    """
    centre = [np.asarray(value, dtype=np.float64) for value in values]
    spread = [within("standard uncertainty", each, 0.0) for each in uncertainties]
    value = np.asarray(function(*centre), dtype=np.float64)
    changes = [_change(function, centre, i, value, u) for i, u in enumerate(spread)]
    contributions = np.stack([np.broadcast_to(change, value.shape) for change in changes])
    together = within("correlation", np.eye(len(spread)) if correlation is None else correlation, -1.0, 1.0)
    variance = np.einsum("i...,ij,j...->...", contributions, together, contributions)
    return Estimate(value[()], np.sqrt(np.maximum(variance, 0.0)), np.abs(contributions))


def _change(function: Callable[..., ArrayLike], centre: list[Floats], i: int, value: Floats, u: Floats) -> Floats:
    """Return slope x uncertainty for input i."""

    def moved(by: float) -> Floats:
        inputs = [*centre[:i], centre[i] + by * STEP * u, *centre[i + 1 :]]
        return np.asarray(function(*inputs), dtype=np.float64)

    try:
        return (moved(1.0) - moved(-1.0)) / (2.0 * STEP)
    except OutOfRange:
        pass
    try:
        return (moved(1.0) - value) / STEP
    except OutOfRange:
        return (value - moved(-1.0)) / STEP


def monte_carlo(
    function: Callable[..., ArrayLike],
    values: Sequence[ArrayLike],
    uncertainties: Sequence[ArrayLike],
    distributions: Sequence[Distribution] | None = None,
    correlation: ArrayLike | None = None,
    draws: int = 100_000,
    seed: int = 1,
) -> Spread:
    """Propagate standard uncertainties through a function by drawing its inputs many times.

    Parameters
    ----------
    function : callable
        [value], of as many arrays as there are values, element by element
    values : sequence of arrays, broadcast together
        [each in its unit]
    uncertainties : sequence of arrays, broadcast together
        [each in its value's unit], 0 or more
    distributions : sequence of str
        [name], "normal" (the default), "rectangular", "triangular" or "arcsine"
    correlation : array, shape (inputs, inputs)
        [1], -1 to 1; exact for normal inputs only
    draws : int, shape ()
        [count], 100 to 10000000
    seed : int, shape ()
        [1], the same seed gives the same answer

    Returns
    -------
    Spread of arrays, broadcast shape [the function's unit]: mean, standard_uncertainty, low and high (95 %)

    Raises
    ------
    OutsideFormula
        An uncertainty below zero, a correlation beyond one, or a draw outside the function's own range.
    UnknownDistribution
        A distribution is none of those named.

    Source
    ------
    JCGM 101:2008, with probability-symmetric limits.

    Examples
    --------
    >>> total = monte_carlo(lambda a, b: a + b, [1.0, 2.0], [0.3, 0.4])
    >>> round(float(total.standard_uncertainty), 1)
    0.5

    """
    count = int(within("draws", draws, 100.0, 1e7))
    kinds = distributions or ["normal"] * len(values)
    spread = [within("standard uncertainty", each, 0.0) for each in uncertainties]
    random = np.random.default_rng(seed)
    shape = (count, *np.broadcast_shapes(*(np.shape(each) for each in (*values, *spread))))
    standard = [_drawn(random, kind, shape) for kind in kinds]
    if correlation is not None:
        root = np.linalg.cholesky(within("correlation", correlation, -1.0, 1.0) + 1e-12 * np.eye(len(spread)))
        standard = list(np.einsum("ij,j...->i...", root, np.stack(standard)))
    inputs = [np.asarray(v) + u * z for v, u, z in zip(values, spread, standard, strict=True)]
    outcome = np.asarray(function(*inputs), dtype=np.float64)
    low, high = np.quantile(outcome, (0.025, 0.975), axis=0)
    return Spread(outcome.mean(axis=0), outcome.std(axis=0, ddof=1), low, high)


def _drawn(random: np.random.Generator, distribution: str, shape: tuple[int, ...]) -> Floats:
    """Draw with mean 0 and standard deviation 1."""
    if distribution == "normal":
        return random.standard_normal(shape)
    if distribution not in HALF_WIDTHS:
        raise UnknownDistribution(distribution)
    half = HALF_WIDTHS[distribution]
    if distribution == "rectangular":
        return random.uniform(-half, half, shape)
    if distribution == "triangular":
        return random.triangular(-half, 0.0, half, shape)
    return half * np.cos(np.pi * random.random(shape))


def effective_degrees_of_freedom(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> Floats:
    """Degrees of freedom of a combined uncertainty, for choosing a coverage factor.

    Parameters
    ----------
    contributions : array, shape (inputs,)
        [any unit, from `first_order`], 0 or more
    degrees_of_freedom : array, shape (inputs,)
        [count; infinite where known well], 1 to inf

    Returns
    -------
    array, shape () [count]

    Raises
    ------
    OutsideFormula
        A figure lies outside the range above.

    Source
    ------
    Welch-Satterthwaite formula, JCGM 100:2008, G.4.

    Examples
    --------
    >>> round(float(effective_degrees_of_freedom([1.0, 1.0], [10.0, 10.0])), 1)
    20.0

    """
    u = within("contribution", contributions, 0.0)
    freedom = within("degrees of freedom", degrees_of_freedom, 1.0, np.inf)
    with np.errstate(divide="ignore"):
        return np.asarray((u**2).sum() ** 2 / (u**4 / freedom).sum())[()]
