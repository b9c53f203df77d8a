"""How unsure the figures of stocks are together, and what a blend of them makes of it.

A figure of a blend, the sum of x_i a_i over V, has the variance x'Cx over V^2, with C the covariance of the stocks'
figures (JCGM 100:2008, 5.2.2). C is kept as each figure's own part and the errors it has in common with others, one
column each, so that 2,000 stocks take no square of 2,000.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Common:
    """Errors that one figure of several stocks has in common, in the figure's unit.

    `moves`, of shape (stocks, errors), is how far one standard deviation of each error moves the figure of each stock;
    squared they are part of the figure's variance. `again`, of the same shape, is how far it would move another reading
    of that stock, which errs by `noise` on its own besides.
    """

    moves: Floats
    again: Floats
    noise: float

    def take(self, keep: NDArray[np.bool_]) -> "Common":
        """Return only the stocks flagged."""
        return Common(self.moves[keep], self.again[keep], self.noise)

    def joined(self, count: int) -> "Common":
        """Return these stocks and some more, which have nothing in common with them."""
        more = np.zeros((count, self.moves.shape[1]))
        return Common(np.vstack([self.moves, more]), np.vstack([self.again, more]), self.noise)


def sum_moved(common: Common | None, litres: Floats) -> Floats:
    """Return how far each common error moves the sum of litres x figure, of shape (errors,)."""
    return np.zeros(0) if common is None else (litres[:, None] * common.moves).sum(axis=0)


def along(u: Floats, common: Common | None, litres: Floats) -> Floats:
    """Return the covariance of each stock's figure with the sum of litres x figure, of shape (stocks,).

    `u` are the figures' standard uncertainties, `common` the errors they have in common, if any.
    """
    if common is None:
        independent: Floats = u**2 * litres
        return independent
    own = u**2 - (common.moves**2).sum(axis=1)
    together: Floats = own * litres + (common.moves * sum_moved(common, litres)).sum(axis=1)
    return together
