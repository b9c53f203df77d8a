"""Do products differ, by shuffling what each taster gave: a test that steps, spreads and odd scores cannot mislead.

If products do not differ, a taster might as well have given each his scores in any other order. So the squares of
products are held against those of every such order, or of many drawn with a fixed seed. Nothing is supposed of how
scores scatter: neither that they are finer than whole points, nor that all tasters err alike. A panel too small to
have twenty orders can then show nothing at 5 %, which is so.

Source: Pitman (1938), Biometrika 29, 322-335.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations, product

import numpy as np

from cooperage.tasting.statistics.tables import Floats, Integers

_ORDERS = 2000
"""So many orders are all looked at; of more, so many are drawn."""
_SAME = 1e-9


def shuffled_p(cells: Floats) -> float:
    """Return the chance of products so far apart or more if they do not differ; NaN where nothing can be shuffled.

    `cells`, of shape (products, tasters), are means of what each taster gave each product, NaN where there is none. A
    taster's own level counts for nothing.
    """
    columns = [column for column in cells.T if np.isfinite(column).sum() > 1]
    if not columns:
        return math.nan
    there = [np.flatnonzero(np.isfinite(column)) for column in columns]
    given = [column[rows] for column, rows in zip(columns, there, strict=True)]
    count = math.prod(math.factorial(len(rows)) for rows in there)
    orders = np.array(list(_all_orders(given))) if count <= _ORDERS else _drawn_orders(given)
    basis = _beyond_tasters(there, len(cells))
    seen, *others = ((np.vstack([np.concatenate(given), orders]) @ basis) ** 2).sum(axis=1)
    reached = int((np.array(others) >= seen - _SAME * max(1.0, seen)).sum())
    return reached / count if count <= _ORDERS else (1 + reached) / (1 + _ORDERS)


def _beyond_tasters(there: list[Integers], products: int) -> Floats:
    """Return an orthonormal basis of what products add to tasters, of shape (scores, products - 1)."""
    own = np.eye(len(there))[np.repeat(np.arange(len(there)), [len(rows) for rows in there])]
    apart = np.eye(products)[np.concatenate(there)]
    left, sizes, _ = np.linalg.svd(apart - own @ np.linalg.lstsq(own, apart, rcond=None)[0], full_matrices=False)
    basis: Floats = left[:, sizes > _SAME]
    return basis


def _all_orders(given: list[Floats]) -> Iterator[Floats]:
    for orders in product(*(permutations(column.tolist()) for column in given)):
        yield np.concatenate([np.array(order) for order in orders])


def _drawn_orders(given: list[Floats]) -> Floats:
    rng = np.random.default_rng(0)
    return np.hstack([rng.permuted(np.tile(column, (_ORDERS, 1)), axis=1) for column in given])
