"""The exact distribution of rank sums when no taster can distinguish any glasses.

Published tables of Friedman's test stop at a few glasses without ties; counting goes on to whatever a small
panel brings, ties too, because it deals out each taster's own ranks.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Column = tuple[int, ...]  # one taster's ranks, rising
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Sums = NDArray[np.int32]  # rank sums, or one taster's ranks: (glasses, states or orders)

# beyond any of these the exact tail is out of reach
_SORTED_ROWS = 6_000_000
_MULTIPLIED_ROWS = 250_000_000
_BLOCK = 1 << 16  # rows worked on at once: they stay in the processor's cache


def exact_tail(ranks: Integers, scatter: int) -> float | None:
    """Chance of this much scatter or more if each taster's ranks fell at random; None if too many to count.

    `ranks` are whole numbers of shape (glasses, tasters), each column summing to zero; `scatter` is the sum
    over glasses of their squared rank sums. Tasters are added one at a time to the distribution of the rank
    sums. No glass is special under chance, so sums that differ only in their order are one state, which
    keeps the count small. The last taster's share needs no new states: the squares of the sums follow from
    the products of each state with each order of ranks.
    """
    first, *later = (tuple(sorted(column)) for column in ranks.T.tolist())
    states, chances = np.array(first, dtype=np.int32)[:, None], np.ones(1)
    rows = 0
    for ahead, (column, following) in enumerate(pairwise(later), 2 - len(later)):
        rows += len(chances) * _orders(column)
        if rows > _SORTED_ROWS:
            return None
        room = _SORTED_ROWS - rows if ahead else _MULTIPLIED_ROWS  # the last taster's are not sorted
        added = _add_taster(states, chances, column, most=room // _orders(following))
        if added is None:
            return None
        states, chances = added
    if len(chances) * _orders(later[-1]) > _MULTIPLIED_ROWS:
        return None
    return _tail_with_last(states, chances, later[-1], scatter)


def _orders(column: Column) -> int:
    """How many different orders these ranks can stand in; tied ranks trade places unseen."""
    return math.factorial(len(column)) // math.prod(math.factorial(c) for c in Counter(column).values())


def _split_halves(column: Column) -> Iterator[tuple[Sums, Sums]]:
    """Deal a column of ranks to two halves of the glasses: every different order is one of each half's, in one deal.

    Yields the orders of either half, of shape (glasses of that half, orders).
    """
    kinds, ties = zip(*Counter(column).items(), strict=True)
    ranks = np.array(kinds, dtype=np.int32)
    for left in _parts(ties, len(column) // 2):
        right = tuple(there - taken for there, taken in zip(ties, left, strict=True))
        yield ranks[_arrangements(left)].T, ranks[_arrangements(right)].T


def _parts(ties: Sequence[int], wanted: int) -> Iterator[Column]:
    """Yield in how many ways so many can be taken of things of which so many are alike: how many of each kind."""
    if not ties:
        yield ()
        return
    others = sum(ties[1:])
    for taken in range(max(0, wanted - others), min(ties[0], wanted) + 1):
        yield from ((taken, *rest) for rest in _parts(ties[1:], wanted - taken))


@lru_cache(maxsize=1024)
def _arrangements(ties: Column) -> Integers:
    """Every different order of things, given how many there are of each kind: kinds of shape (orders, things)."""
    orders: set[Column] = {()}
    for kind in np.repeat(np.arange(len(ties)), ties).tolist():  # into every gap; a set never lists tied orders twice
        orders = {(*o[:gap], kind, *o[gap:]) for o in orders for gap in range(len(o) + 1)}
    return np.array(sorted(orders), dtype=np.int64)


def _add_taster(states: Sums, chances: Floats, column: Column, *, most: int) -> tuple[Sums, Floats] | None:
    """Rank sums after one taster more, with their chances; None as soon as there are more than `most`."""
    found: list[tuple[Sums, Floats]] = []
    for sums, shares in _rank_sum_blocks(states, chances / _orders(column), column):
        found.append(_merged(_rising(sums), shares))
        if len(found[-1][1]) > most:
            return None
    merged = _merged(np.hstack([sums for sums, _ in found]), np.hstack([shares for _, shares in found]))
    return None if len(merged[1]) > most else merged


def _rank_sum_blocks(states: Sums, shares: Floats, column: Column) -> Iterator[tuple[Sums, Floats]]:
    """Yield blocks of rank sums, each of states by orders, and the chance of each."""
    for orders in _listed(column):
        step = max(1, _BLOCK // orders.shape[1])
        for start in range(0, len(shares), step):
            part = slice(start, start + step)
            sums = states[:, part, None] + orders[:, None, :]
            yield sums.reshape(len(states), -1), np.repeat(shares[part], orders.shape[1])


def _listed(column: Column) -> Iterator[Sums]:
    """Yield every different order of a column of ranks, about a block at once."""
    waiting: list[Sums] = []
    for left, right in _split_halves(column):
        waiting.append(np.vstack([np.repeat(left, right.shape[1], axis=1), np.tile(right, left.shape[1])]))
        if sum(orders.shape[1] for orders in waiting) >= _BLOCK:
            yield np.hstack(waiting)
            waiting = []
    if waiting:
        yield np.hstack(waiting)


def _rising(sums: Sums) -> Sums:
    """Put the sums of each state in rising order: neighbours trade places, in all states at once."""
    for turn in range(len(sums)):
        for place in range(turn % 2, len(sums) - 1, 2):
            pair = sums[place : place + 2]
            pair[:] = np.minimum(*pair), np.maximum(*pair)
    return sums


def _merged(sums: Sums, shares: Floats) -> tuple[Sums, Floats]:
    """Merge states that are alike and sum their chances; a plain sort finds them, as each bears its number."""
    bits = len(shares).bit_length()
    tagged = np.sort((_keys(sums, bits) << bits) | np.arange(len(shares)))
    number, key = tagged & ((1 << bits) - 1), tagged >> bits
    first = np.flatnonzero(np.diff(key, prepend=-1))
    return sums[:, number[first]], np.add.reduceat(shares[number], first)


def _keys(sums: Sums, spare: int) -> Integers:
    """One whole number a state, alike only for states alike, with `spare` bits left over above it."""
    lowest = int(sums.min())
    base = int(sums.max()) - lowest + 1
    keys: Integers = np.zeros(sums.shape[1], dtype=np.int64)
    largest = 0
    for row in sums[:-1]:  # the last follows from the others: all states have one total
        if (largest + 1) * base > 1 << (63 - spare):  # would overflow: renumber the keys met so far
            keys = np.unique(keys, return_inverse=True)[1]
            largest = int(keys.max())
        keys = keys * base + (row - lowest)
        largest = largest * base + base - 1
    return keys


def _tail_with_last(states: Sums, chances: Floats, column: Column, scatter: int) -> float:
    """Chance that the last taster brings the squared rank sums to `scatter` or more."""
    # |state + order|² = |state|² + |order|² + 2 state·order, all small whole numbers and exact in floats
    numbers = states.astype(np.float64)
    enough = (scatter - sum(rank * rank for rank in column) - (numbers**2).sum(axis=0)) / 2
    hits = np.zeros(len(chances), dtype=np.int64)
    for left, right in _split_halves(column):
        step = max(1, _BLOCK // right.shape[1])
        for start in range(0, len(hits), step):
            part = slice(start, start + step)
            wanting = enough[part] - left.T @ numbers[: len(left), part]
            hits[part] += _pairs(wanting, right.T @ numbers[len(left) :, part])
    return min(1.0, float(chances @ hits) / _orders(column))


def _pairs(wanting: Floats, given: Floats) -> Integers:
    """Count, down each column, the pairs of one of `given` that reaches one of `wanting`."""
    counts = np.zeros(given.shape, dtype=np.min_scalar_type(len(wanting)))
    for wanted in wanting:
        counts += given >= wanted
    reached: Integers = counts.sum(axis=0, dtype=np.int64)
    return reached
