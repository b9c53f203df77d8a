"""Fedorov's exchange: the rows of a table that make the determinant of a design greatest.

Source: Fedorov 1972, Theory of Optimal Experiments; Cook and Nachtsheim 1989, Technometrics 31, 339-346, for blocks.
Several designs may be equally good: designs are compared by their determinant, never by their points.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cooperage.blending.mixture.terms import SEPARATE
from cooperage.blending.stocks.pool import Flags, Floats

Integers = NDArray[np.int64]

_BETTER = 1 + 1e-9
"""An exchange must multiply the determinant by more than this."""
_MOST_EXCHANGES = 500
_RIDGE = 1e-7


def log_determinant(rows: Floats) -> float:
    """Return the logarithm of the determinant of X'X of the rows X; minus infinity where it is singular."""
    sizes = np.linalg.svd(rows, compute_uv=False)
    if len(rows) < rows.shape[1] or sizes.min(initial=np.inf) <= SEPARATE * sizes.max(initial=0.0):
        return float("-inf")
    return float(2 * np.log(sizes).sum())


def best_rows(
    tables: Sequence[Floats],
    sizes: Sequence[int],
    *,
    fixed: Floats | None = None,
    repeats: bool = True,
    seed: int = 0,
    starts: int = 20,
) -> tuple[Integers, float]:
    """Return which rows to take, and the logarithm of the determinant they reach (minus infinity: none does).

    `tables` holds a table of candidates for each block, all of shape (N, p) with the block's columns in them; `sizes`
    how many rows to take from each. `fixed` are rows that stand beside them. Without `repeats` each candidate is taken
    once at most. The same seed gives the same rows.
    """
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(len(sizes)), sizes)
    best, reached, scaled = np.zeros(len(block), dtype=np.int64), float("-inf"), _scaled(tables)
    if scaled is None or (not repeats and len(block) > len(tables[0])):
        return best, reached
    beside = None if fixed is None else fixed @ scaled
    alike = np.stack(tables) @ scaled
    for _ in range(starts):
        chosen = rng.choice(len(tables[0]), len(block), replace=repeats)
        chosen = _exchanged(alike, block, chosen, beside, repeats=repeats)
        found = log_determinant(_rows(np.stack(tables), block, chosen, fixed))
        if found > reached + 1e-9:
            best, reached = chosen, found
    return best, reached


def _scaled(tables: Sequence[Floats]) -> Floats | None:
    """Return what makes the candidates' columns alike in size and independent; None where they are not separate.

    It multiplies all determinants by the same figure, so the best design stays the best, even where shares are small.
    """
    _, sizes, across = np.linalg.svd(np.concatenate(tables), full_matrices=False)
    if len(sizes) < tables[0].shape[1] or sizes.min() <= SEPARATE * sizes.max():
        return None
    scaled: Floats = across.T / sizes
    return scaled


def _rows(tables: Floats, block: Integers, chosen: Integers, fixed: Floats | None) -> Floats:
    rows: Floats = tables[block, chosen]
    return rows if fixed is None else np.concatenate([fixed, rows])


def _exchanged(tables: Floats, block: Integers, chosen: Integers, fixed: Floats | None, *, repeats: bool) -> Integers:
    """Exchange the pair of rows that gains most, until none gains."""
    chosen = chosen.copy()
    small = _RIDGE * np.eye(tables.shape[2]) / tables.shape[1]  # a start may be singular
    for _ in range(_MOST_EXCHANGES):
        rows = _rows(tables, block, chosen, fixed)
        inverse = np.linalg.inv(rows.T @ rows + small)
        gains = _gains(tables, block, tables[block, chosen], inverse)
        if not repeats:
            gains[:, np.isin(np.arange(tables.shape[1]), chosen)] = 0.0
        out, into = np.unravel_index(int(gains.argmax()), gains.shape)
        if gains[out, into] <= _BETTER:
            break
        chosen[out] = into
    return chosen


def _gains(tables: Floats, block: Integers, rows: Floats, inverse: Floats) -> Floats:
    """Return by what each exchange multiplies the determinant, shape (rows, candidates)."""
    gains = np.empty((len(rows), tables.shape[1]))
    spread = rows @ inverse
    old = (spread * rows).sum(axis=1)
    for each, table in enumerate(tables):
        mine: Flags = block == each
        new = ((table @ inverse) * table).sum(axis=1)
        between = spread[mine] @ table.T
        gains[mine] = (1 + new) * (1 - old[mine])[:, None] + between**2
    return gains
