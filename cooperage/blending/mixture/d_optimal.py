"""Designed trials: the blends to taste that show most for their number, shared out over sessions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.mixture.designs import NoSuchDesign
from cooperage.blending.mixture.exchange import Integers, best_rows, log_determinant
from cooperage.blending.mixture.terms import Degree, glasses_of, model_matrix, model_name
from cooperage.blending.stocks.pool import Floats

_MOST_SWAPS = 10
"""Swaps for each blend after which a search ends: several times what any needs."""


@dataclass(frozen=True)
class MixtureDesign:
    """Blends to taste, shape (n, q), and the session each stands in, from 0: shape (n,).

    `log_determinant` is that of X'X of the model and the sessions: only its difference between designs means anything.
    """

    points: Floats
    session: Integers
    degree: str
    log_determinant: float

    @property
    def orthogonality(self) -> float:
        """How far sessions leave the blends alone: 1 where their differences hide nothing of a blend, 0 where all."""
        return session_orthogonality(self.points, self.session, self.degree)


def d_optimal(
    candidates: ArrayLike,
    n: int,
    degree: Degree = 2,
    *,
    blocks: Sequence[int] | None = None,
    fixed: ArrayLike | None = None,
    repeats: bool = True,
    seed: int = 0,
    starts: int = 20,
) -> MixtureDesign:
    """Return the n blends among candidates that make the determinant of a model greatest.

    `candidates` has shape (N, q); `blocks` are the numbers of glasses of the sessions, which sum to n (all in one where
    it is not given); `fixed` are blends that are tasted anyway, and count among the n. Without `repeats` each
    candidate is taken once at most. The same seed gives the same design. Raises NoSuchDesign where the candidates or
    the number of blends cannot separate the terms.

    >>> from cooperage.blending import d_optimal, simplex_lattice
    >>> d_optimal(simplex_lattice(2, 4), 3).points.tolist()
    [[0.0, 1.0], [0.5, 0.5], [1.0, 0.0]]
    """
    points, held = _checked(candidates, n, fixed)
    sizes, model = _checked_sizes(n, blocks), model_name(degree)
    rows = model_matrix(points, model)
    if n < rows.shape[1] + len(sizes) - 1:
        raise NoSuchDesign(_too_few(model, rows.shape[1], n, len(sizes)))
    if len(held):
        beside = model_matrix(held, model)
        chosen, _ = best_rows([rows], [n - len(held)], fixed=beside, repeats=repeats, seed=seed, starts=starts)
        taken = np.concatenate([held, points[chosen]])
        session = allocate(taken, sizes, model, seed=seed)
    else:
        tables = [np.concatenate([rows, np.tile(marks, (len(rows), 1))], axis=1) for marks in _marks(len(sizes))]
        chosen, _ = best_rows(tables, sizes, repeats=repeats, seed=seed, starts=starts)
        taken, session = points[chosen], np.repeat(np.arange(len(sizes)), sizes)
    found = log_determinant(np.concatenate([model_matrix(taken, model), _marks(len(sizes))[session]], axis=1))
    if found == float("-inf"):
        raise NoSuchDesign(f"these {len(points)} candidates cannot separate the terms of a {model} model")
    order = np.lexsort([*taken.T[::-1], session])
    return MixtureDesign(taken[order], session[order], model, found)


def allocate(
    points: ArrayLike, sizes: Sequence[int], degree: Degree = 2, *, seed: int = 0, starts: int = 10
) -> Integers:
    """Return the session of each blend, from 0, so that sessions hide as little of the blends as can be.

    `points` has shape (n, q), `sizes` sum to n. Blends are exchanged between sessions while the determinant of model
    and sessions grows. Raises NoSuchDesign where the sizes do not match. Source: Cook and Nachtsheim 1989.

    >>> from cooperage.blending import allocate, simplex_lattice
    >>> sorted(allocate(simplex_lattice(2, 1).repeat(2, axis=0), [2, 2], 1).tolist())
    [0, 0, 1, 1]
    """
    x = np.atleast_2d(np.asarray(points, dtype=np.float64))
    sizes = _checked_sizes(len(x), sizes)
    leaves = _left_by(x, degree)
    rng = np.random.default_rng(seed)
    best, reached = np.repeat(np.arange(len(sizes)), sizes), float("-inf")
    for _ in range(starts if len(sizes) > 1 else 0):
        session = _swapped(leaves, rng.permutation(np.repeat(np.arange(len(sizes)), sizes)), len(sizes))
        found = _logarithm(_products(leaves, session, len(sizes)))
        if found > reached + 1e-9:
            best, reached = session, float(found)
    return best


def session_orthogonality(points: Floats, session: Integers, degree: Degree) -> float:
    """Return the share of what sessions could show of themselves that the blends leave them, from 0 to 1."""
    marks = np.eye(int(session.max()) + 1)[session][:, 1:]
    if not marks.shape[1]:
        return 1.0
    marks = marks - marks.mean(axis=0)
    columns = glasses_of(points, degree).matrix
    left = marks - columns @ np.linalg.pinv(columns) @ marks
    return float(np.exp((log_determinant(left) - log_determinant(marks)) / marks.shape[1]))


def _swapped(leaves: Floats, session: Integers, count: int) -> Integers:
    """Swap the two blends whose exchange between sessions gains most, until none gains.

    Where sessions cannot be separated from the blends, what a swap gains is rounding: then it ends all the same.
    """
    first, second = np.triu_indices(len(session), 1)
    for _ in range(_MOST_SWAPS * len(session)):
        apart = session[first] != session[second]
        one, other = first[apart], second[apart]
        now, found = _logarithm(_products(leaves, session, count)), _if_swapped(leaves, session, count, one, other)
        if not len(found) or found.max() <= now + 1e-9:
            return session
        best = int(found.argmax())
        session = session.copy()
        session[[one[best], other[best]]] = session[[other[best], one[best]]]
    return session


def _if_swapped(leaves: Floats, session: Integers, count: int, one: Integers, other: Integers) -> Floats:
    """Return the log determinant if one blend were swapped with the other, for each pair of shape (k,)."""
    marks = np.eye(count)[session]
    shown = leaves @ marks
    turned, moved = shown[other] - shown[one], marks[one] - marks[other]
    size = leaves[one, one] + leaves[other, other] - 2 * leaves[one, other]
    across = turned[:, :, None] * moved[:, None, :]
    change = across + across.transpose(0, 2, 1) + size[:, None, None] * moved[:, :, None] * moved[:, None, :]
    return _logarithm(_products(leaves, session, count) + change)


def _products(leaves: Floats, session: Integers, count: int) -> Floats:
    """Return the products of the sessions' columns beside the model's, shape (count, count)."""
    marks = np.eye(count)[session]
    products: Floats = marks.T @ leaves @ marks
    return products


def _logarithm(products: Floats) -> Floats:
    """Return the log determinant of products, shape (..., count, count), without the first session: the others' sum."""
    logs: Floats = np.linalg.slogdet(products[..., 1:, 1:])[1]
    return logs


def _left_by(points: Floats, degree: Degree) -> Floats:
    """Return the matrix, shape (n, n), that takes out what a model explains; a little is left where it is all."""
    columns = model_matrix(points, degree)
    return np.eye(len(points)) - (1 - 1e-6) * columns @ np.linalg.pinv(columns)


def _marks(count: int) -> Floats:
    """Return the columns that stand for each session, shape (count, count - 1)."""
    return np.eye(count)[:, 1:]


def _checked(candidates: ArrayLike, n: int, fixed: ArrayLike | None) -> tuple[Floats, Floats]:
    points = np.atleast_2d(np.asarray(candidates, dtype=np.float64))
    held = np.zeros((0, points.shape[1])) if fixed is None else np.atleast_2d(np.asarray(fixed, dtype=np.float64))
    if not points.size or held.shape[1] != points.shape[1] or len(held) > n:
        raise NoSuchDesign("a design needs candidates, and no more fixed blends than it has in all")
    return points, held


def _checked_sizes(n: int, sizes: Sequence[int] | None) -> list[int]:
    found = [n] if sizes is None else [int(size) for size in sizes]
    if sum(found) != n or any(size < 1 for size in found):
        raise NoSuchDesign(f"the sessions have {sum(found)} glasses of {n}; give each at least one, and {n} in all")
    return found


def _too_few(model: str, terms: int, n: int, sessions: int) -> str:
    least = terms + sessions - 1
    over = "" if sessions == 1 else f" over {sessions} sessions"
    return f"a {model} model has {terms} terms{over}: it needs {least} glasses, not {n}"
