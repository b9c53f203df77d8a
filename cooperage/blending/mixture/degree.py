"""Which degree of model the glasses carry: the simplest that leaves nothing to show.

Source: Cornell 2002 for lack of fit; Allen 1974, Technometrics 16, 125-127, for the sum of squares of prediction.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.scheffe import ScheffeFit, fit_scheffe
from cooperage.blending.mixture.terms import Blocks, CannotFit
from cooperage.units import counted

DEGREES = ("linear", "quadratic", "special cubic")
FEWEST_LEFT = 3
"""Degrees of freedom that must be left for the error: with fewer the interval of a figure has no mean width."""
LACKS = 0.05
"""A lack of fit with a chance below this is one."""


@dataclass(frozen=True)
class ChosenDegree:
    """The degree that was chosen, why, and the fits of those that the glasses carry, simplest first.

    `refused` holds, by degree, why a degree was not tried.
    """

    fit: ScheffeFit
    reason: str
    fits: tuple[ScheffeFit, ...]
    refused: dict[str, str]


def choose_degree(
    points: ArrayLike, response: ArrayLike, *, blocks: Blocks | None = None, candidates: ArrayLike | None = None
) -> ChosenDegree:
    """Return the simplest degree that shows no lack of fit and predicts each glass by the others as well as any.

    A degree is tried if the glasses separate its terms and leave `FEWEST_LEFT` degrees of freedom. From the linear
    model on, the next degree is taken while the fit lacks (p < `LACKS`) or the next one's sum of squares of prediction
    is smaller. Raises CannotFit, as `fit_scheffe`, where not even the linear model can be fitted.

    >>> from cooperage.blending import choose_degree, simplex_lattice
    >>> found = choose_degree(simplex_lattice(2, 5), [9, 11, 12, 12.5, 12, 10])
    >>> found.fit.degree, found.reason
    ('quadratic', 'the linear model predicts the glasses less well')
    """
    fits: list[ScheffeFit] = []
    refused: dict[str, str] = {}
    for degree in DEGREES:
        try:
            fit = fit_scheffe(points, response, degree, blocks=blocks, candidates=candidates)
        except CannotFit as error:
            refused[degree] = str(error)
            if not fits:
                raise
            continue
        if fits and len(fit.coefficients) == len(fits[-1].coefficients):
            refused[degree] = "it has no term beside those of the simpler one"
        elif fit.residual_df < FEWEST_LEFT and fits:
            refused[degree] = (
                f"it leaves {counted(fit.residual_df, 'glass', 'glasses')} for the error; {FEWEST_LEFT} are needed"
            )
        else:
            fits.append(fit)
    chosen = 0
    while chosen + 1 < len(fits) and (_lacks(fits[chosen]) or fits[chosen + 1].press < fits[chosen].press):
        chosen += 1
    return ChosenDegree(fits[chosen], _reason(fits, chosen), tuple(fits), refused)


def _lacks(fit: ScheffeFit) -> bool:
    return fit.lack_of_fit.p < LACKS


def _reason(fits: list[ScheffeFit], chosen: int) -> str:
    fit = fits[chosen]
    if _lacks(fit):
        return f"the {fit.degree} model still lacks fit, and the glasses carry no higher one"
    if chosen == 0:
        return "the linear model lacks nothing" if np.isfinite(fit.lack_of_fit.p) else "the linear model predicts best"
    below = fits[chosen - 1]
    why = "lacks fit" if _lacks(below) else "predicts the glasses less well"
    return f"the {below.degree} model {why}"
