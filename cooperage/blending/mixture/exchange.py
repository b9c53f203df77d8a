"""An exchange of rows: the rows of a table that make the determinant of a design greatest.

Source: Cook and Nachtsheim 1980, Technometrics 22, 315-324, and 1989, 31, 339-346, for blocks; after Fedorov 1972.
Several designs may be equally good: designs are compared by their determinant, never by their points.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cooperage.blending.mixture.terms import SEPARATE
from cooperage.blending.stocks.pool import Floats

Integers = NDArray[np.int64]

_BETTER = 1 + 1e-9
"""An exchange must multiply the determinant by more than this."""
_MOST_PASSES = 50
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
    """Exchange each row in turn for the candidate that gains most, until no row gains."""
    chosen = chosen.copy()
    for _ in range(_MOST_PASSES):
        before = chosen.copy()
        _pass_over(_Spread(tables, _rows(tables, block, chosen, fixed)), block, chosen, repeats=repeats)
        if (chosen == before).all():
            break
    return chosen


def _pass_over(spread: "_Spread", block: Integers, chosen: Integers, *, repeats: bool) -> None:
    for at, table in enumerate(block):
        gains, old = spread.gains(table, chosen[at]), chosen[at]
        if not repeats:
            gains[chosen] = 0.0
        into = int(gains.argmax())
        if gains[into] > _BETTER:
            spread.exchange(table, old, into)
            chosen[at] = into


class _Spread:
    """The inverse of X'X of a design's rows, and the variance of each candidate by it, as rows are exchanged."""

    def __init__(self, tables: Floats, rows: Floats) -> None:
        self._tables = tables
        small = _RIDGE * np.eye(tables.shape[2]) / tables.shape[1]  # a start may be singular
        self._inverse: Floats = np.asarray(np.linalg.inv(rows.T @ rows + small), dtype=np.float64)
        self._variance: Floats = ((tables @ self._inverse) * tables).sum(axis=2)

    def gains(self, table: int, old: int) -> Floats:
        """Return by what each candidate of a block's table multiplies the determinant in the place of an old one."""
        across = self._tables[table] @ (self._inverse @ self._tables[table, old])
        gains: Floats = (1 + self._variance[table]) * (1 - self._variance[table, old]) + across**2
        return gains

    def exchange(self, table: int, old: int, new: int) -> None:
        """Take a new candidate of a block's table for an old one."""
        self._change(self._tables[table, new], 1.0)
        self._change(self._tables[table, old], -1.0)

    def _change(self, row: Floats, sign: float) -> None:
        turned = self._inverse @ row
        by = sign / max(1 + sign * float(row @ turned), 1e-12)
        self._inverse = self._inverse - by * np.outer(turned, turned)
        self._variance = self._variance - by * (self._tables @ turned) ** 2
