"""The exact distribution of rank sums when no taster can tell any glass from another.

Published tables of Friedman's test stop at a few glasses without ties; counting goes on to whatever a small
panel brings, ties too, because it deals out each taster's own ranks.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# about a second's work; beyond any of these the exact tail is out of reach
_SORTED_ROWS = 6_000_000
_MULTIPLIED_ROWS = 250_000_000
_CHUNK = 4_000_000
_KEY_LIMIT = np.iinfo(np.int64).max


def exact_tail(ranks: Integers, scatter: int) -> float | None:
    """Chance of this much scatter or more if each taster's ranks fell at random; None if too many to count.

    `ranks` are whole numbers of shape (glasses, tasters), each column summing to zero; `scatter` is the sum
    over glasses of their squared rank sums. Tasters are added one at a time to the distribution of the rank
    sums. No glass is special under chance, so sums that differ only in their order are one state, which
    keeps the count small. The last taster's share needs no new states: the squares of the sums follow from
    the products of each state with each order of ranks.
    """
    first, *middle, last = (tuple(sorted(column)) for column in ranks.T.tolist())
    states, chances = np.array([first], dtype=np.int64), np.ones(1)
    rows = 0
    for column in middle:
        rows += len(states) * _orders(column)
        if rows > _SORTED_ROWS:
            return None
        states, chances = _add_taster(states, chances, _arrangements(column))
    if len(states) * _orders(last) > _MULTIPLIED_ROWS:
        return None
    return _tail_with_last(states, chances, _arrangements(last), scatter)


def _orders(column: tuple[int, ...]) -> int:
    """How many different orders these ranks can stand in; tied ranks trade places unseen."""
    return math.factorial(len(column)) // math.prod(math.factorial(c) for c in Counter(column).values())


def _arrangements(column: tuple[int, ...]) -> Integers:
    """Every different order of a column of ranks: shape (orders, glasses)."""
    orders: set[tuple[int, ...]] = {()}
    for rank in column:  # into every gap; merging at each step never lists tied orders twice
        orders = {(*o[:gap], rank, *o[gap:]) for o in orders for gap in range(len(o) + 1)}
    return np.array(sorted(orders), dtype=np.int64)


def _add_taster(states: Integers, chances: Floats, orders: Integers) -> tuple[Integers, Floats]:
    """Rank sums after one taster more, with their chances; sums alike but for their order are merged."""
    glasses = states.shape[1]
    sums = np.sort((states[:, None, :] + orders).astype(np.int32).reshape(-1, glasses), axis=1)
    _, index, inverse = np.unique(_row_keys(sums), return_index=True, return_inverse=True)
    shares = np.repeat(chances / len(orders), len(orders))
    return sums[index].astype(np.int64), np.bincount(inverse, shares).astype(np.float64)


def _row_keys(rows: NDArray[np.int32]) -> Integers:
    """One whole number a row, alike only for rows alike."""
    lowest = int(rows.min())
    base = int(rows.max()) - lowest + 1
    keys: Integers = np.zeros(len(rows), dtype=np.int64)
    largest = 0
    for column in rows.T:
        if largest > _KEY_LIMIT // base - 1:  # would overflow: number the keys met so far anew
            keys = np.unique(keys, return_inverse=True)[1]
        keys = keys * base + (column - lowest)
        largest = int(keys.max())
    return keys


def _tail_with_last(states: Integers, chances: Floats, orders: Integers, scatter: int) -> float:
    """Chance that the last taster brings the squared rank sums to `scatter` or more."""
    # |state + order|² = |state|² + |order|² + 2 state·order, all small whole numbers and exact in floats
    enough = (scatter - int((orders[0] ** 2).sum()) - (states**2).sum(axis=1)) / 2
    columns = orders.T.astype(np.float64)
    step = max(1, _CHUNK // len(orders))
    tail = 0.0
    for start in range(0, len(states), step):
        part = slice(start, start + step)
        hits = (states[part].astype(np.float64) @ columns >= enough[part, None]).mean(axis=1)
        tail += float(chances[part] @ hits)
    return min(1.0, tail)
