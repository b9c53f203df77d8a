"""What a glass owes to the one before it: direct and carry-over effects of glasses tasted in balanced orders.

score = taster + place + glass + carry-over of the glass before, by least squares; the first glass of an order has none
before it. In a Williams design (every glass follows every other equally often) glasses and carry-over are nearly
independent, so allowing for it costs little. Plain means put down to a glass what the one before it did.

Source: Cochran, Autrey and Cannon (1941), J. Dairy Science 24, 937-951; Williams (1949), Australian J. Scientific
Research A 2, 149-168; Jones and Kenward, Design and Analysis of Cross-Over Trials, 3rd ed. (2014), ch. 4.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.tasting.statistics.squares import Source, against, dropped, left_over
from cooperage.tasting.statistics.tables import Floats, score_table


class NotOrders(BadInput):
    """Orders that do not give a glass to each score."""

    def __init__(self, orders: tuple[int, ...], scores: tuple[int, ...]) -> None:
        self.orders, self.scores = orders, scores
        super().__init__(f"orders of shape {orders} and scores of shape {scores}; give the glass of each score, from 0")


class OrdersTooAlike(BadInput):
    """Orders in which what a glass does and what it leaves behind cannot be distinguished."""

    def __init__(self) -> None:
        super().__init__("with these orders, glasses and carry-over cannot be distinguished; serve balanced orders")


@dataclass(frozen=True)
class CarryOver:
    """Effects of glasses and of what each leaves to the next, in points; each sums to zero.

    `direct_ignoring` and `carry_over_ignoring` hold the squares of one where the other is left out of the model. The
    covariances are for each unit of a score's variance.
    """

    direct: Floats  # (glasses,)
    carry_over: Floats  # (glasses,)
    direct_per_variance: Floats  # (glasses, glasses)
    carry_over_per_variance: Floats  # (glasses, glasses)
    tasters: Source
    places: Source
    direct_ignoring: Source
    direct_adjusted: Source
    carry_over_ignoring: Source
    carry_over_adjusted: Source
    error: Source

    @property
    def variance(self) -> float:
        """Variance of one score about the fit; NaN when nothing is left over to judge it by."""
        return self.error.mean_square

    def difference_error(self, one: int, other: int) -> float:
        """Return the standard error of the difference of two direct effects [points]."""
        shared = self.direct_per_variance
        return math.sqrt(self.variance * float(shared[one, one] + shared[other, other] - 2 * shared[one, other]))


def carry_over(orders: ArrayLike, scores: ArrayLike, squares: Sequence[Hashable] | None = None) -> CarryOver:
    """Fit direct and carry-over effects to scores of shape (tasters, places), NaN where none was given.

    `orders` of the same shape hold the glass, from 0, that stood in each place. `squares` name the session of each
    taster: places have effects of their own in each. Raises NotOrders, OrdersTooAlike.

    >>> from cooperage.tasting import carry_over
    >>> orders = [[0, 1, 3, 2], [1, 2, 0, 3], [2, 3, 1, 0], [3, 0, 2, 1]]
    >>> found = carry_over(orders, [[53, 51, 54, 50], [51, 49, 55, 58], [43, 48, 49, 53], [57, 60, 54, 55]])
    >>> found.direct.round(6) + 0.0
    array([ 3., -1., -4.,  2.])
    """
    table = score_table(scores, partial=True)
    order = np.asarray(orders)
    if order.shape != table.shape or not np.issubdtype(order.dtype, np.integer) or order.min() < 0:
        raise NotOrders(order.shape, table.shape)
    taster, place = np.nonzero(np.isfinite(table))
    score = table[taster, place] - np.nanmean(table)
    glasses = int(order.max()) + 1
    if glasses < 2:
        raise OrdersTooAlike
    named = list(dict.fromkeys(squares or [0]))
    square = np.array([named.index(each) for each in squares or [0] * len(table)])[taster]
    direct = _sum_to_zero(glasses)[order[taster, place]]
    before = order[taster, np.maximum(place - 1, 0)]
    carried = np.where(place[:, None] > 0, _sum_to_zero(glasses)[before], 0.0)
    of_tasters = np.eye(len(table))[taster]
    blocks = np.hstack([of_tasters, np.eye(len(named) * table.shape[1])[square * table.shape[1] + place]])
    return _fitted(score, of_tasters, blocks, direct, carried)


def _sum_to_zero(glasses: int) -> Floats:
    return np.vstack([np.eye(glasses - 1), -np.ones(glasses - 1)])


def _fitted(score: Floats, of_tasters: Floats, blocks: Floats, direct: Floats, carried: Floats) -> CarryOver:
    by_blocks = left_over(score, blocks)
    by_direct, by_carried = (
        left_over(score, np.hstack([blocks, direct])),
        left_over(score, np.hstack([blocks, carried])),
    )
    both = np.hstack([direct, carried])
    error = left_over(score, np.hstack([blocks, both]))
    size = direct.shape[1]
    if by_blocks.degrees - error.degrees < 2 * size:
        raise OrdersTooAlike
    within = both - blocks @ np.linalg.lstsq(blocks, both, rcond=None)[0]
    per_variance = np.linalg.inv(within.T @ within)
    effects = per_variance @ (within.T @ score)
    back = _sum_to_zero(size + 1)
    by_tasters = left_over(score, of_tasters)
    return CarryOver(
        back @ effects[:size],
        back @ effects[size:],
        back @ per_variance[:size, :size] @ back.T,
        back @ per_variance[size:, size:] @ back.T,
        dropped(Source(float(score @ score), len(score) - 1), by_tasters),
        dropped(by_tasters, by_blocks),
        dropped(by_blocks, by_direct),
        against(dropped(by_carried, error), error),
        dropped(by_blocks, by_carried),
        against(dropped(by_direct, error), error),
        error,
    )
