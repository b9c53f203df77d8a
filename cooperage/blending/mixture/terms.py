"""The terms of Scheffé's models, and which of them a set of glasses can separate."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from cooperage.blending.stocks.pool import Floats
from cooperage.errors import BadInput

Degree = int | str
Blocks = Mapping[str, Sequence[Hashable]]
"""For each kind of block, such as "taster" or "session", the label of every glass."""

_DEGREES = {
    1: "linear",
    2: "quadratic",
    3: "special cubic",
    "linear": "linear",
    "quadratic": "quadratic",
    "special cubic": "special cubic",
    "full cubic": "full cubic",
}
SEPARATE = 1e-9
"""Singular values below this share of the greatest are none: rounding of shares leaves less than that."""


class CannotFit(BadInput):
    """The points, responses or degree do not make a fit.

    `terms` are those that the glasses cannot separate, `add` the blends, shape (n, q), that would separate them.
    """

    def __init__(self, problem: str, terms: Sequence[str] = (), add: Floats | None = None) -> None:
        self.terms = tuple(terms)
        self.add = add
        super().__init__(problem)


@dataclass(frozen=True)
class Glasses:
    """The columns of a model at n glasses, with what differs between blocks taken out of them.

    `terms` names the p columns of `matrix`, shape (n, p); `between` is an orthonormal basis of what blocks explain
    beside the mean, shape (n, b). What is estimated is the surface for the average glass.
    """

    terms: tuple[str, ...]
    matrix: Floats
    between: Floats

    def within(self, values: Floats) -> Floats:
        """Return values of the glasses, shape (n,) or (n, k), without what blocks explain."""
        left: Floats = values - self.between @ (self.between.T @ values)
        return left

    @property
    def unscaled(self) -> Floats:
        """The covariance of the coefficients by the variance of a glass, shape (p, p)."""
        return np.asarray(np.linalg.inv(self.matrix.T @ self.matrix), dtype=np.float64)

    @property
    def leverage(self) -> Floats:
        """What of each glass its own score decides, blocks included, from 0 to 1: shape (n,)."""
        own: Floats = ((self.matrix @ self.unscaled) * self.matrix).sum(axis=1) + (self.between**2).sum(axis=1)
        return own

    @property
    def residual_df(self) -> int:
        """Degrees of freedom left over for the error."""
        return len(self.matrix) - len(self.terms) - int(self.between.shape[1])

    def confounded(self) -> tuple[str, ...]:
        """Return the terms that the glasses cannot separate; none where all can be estimated."""
        _, sizes, across = np.linalg.svd(self.matrix, full_matrices=True)
        sizes = np.concatenate([sizes, np.zeros(len(across) - len(sizes))])
        lost = across[sizes <= SEPARATE * sizes.max(initial=0.0)]
        return tuple(np.array(self.terms)[(np.abs(lost) > 1e-6).any(axis=0)].tolist())


def model_name(degree: Degree) -> str:
    """Return the name of a degree; raises CannotFit where there is no such."""
    model = _DEGREES.get(degree.replace("_", " ") if isinstance(degree, str) else degree)
    if model is None:
        raise CannotFit(f'degree must be 1, 2, 3 (the special cubic) or "full cubic", not {degree!r}')
    return model


def scheffe_terms(points: Floats, degree: Degree) -> dict[str, Floats]:
    """Return the columns of a model by the names of their terms: x1, x1:x2, x1:x2:x3, x1:x2:(x1-x2).

    `points` has shape (points, q). `degree` is 1, 2, 3 (the special cubic) or "full cubic". Source: Scheffé 1958.
    """
    model = model_name(degree)
    x = {f"x{at}": column for at, column in enumerate(points.T, start=1)}
    terms = dict(x)
    if model != "linear":
        terms |= {f"{a}:{b}": x[a] * x[b] for a, b in combinations(x, 2)}
    if model == "full cubic":
        terms |= {f"{a}:{b}:({a}-{b})": x[a] * x[b] * (x[a] - x[b]) for a, b in combinations(x, 2)}
    if model.endswith("cubic"):
        terms |= {f"{a}:{b}:{c}": x[a] * x[b] * x[c] for a, b, c in combinations(x, 3)}
    return terms


def model_matrix(points: ArrayLike, degree: Degree) -> Floats:
    """Return the columns of a model at points of shape (n, q): shape (n, terms)."""
    return np.column_stack(list(scheffe_terms(np.atleast_2d(np.asarray(points, dtype=np.float64)), degree).values()))


def glasses_of(points: Floats, degree: Degree, blocks: Blocks | None = None) -> Glasses:
    """Return the columns of a model at the points of glasses, shape (n, q), and of the blocks they stand in.

    Blocks are fixed effects: for blocks in which every blend stands the estimates are those of random ones.
    """
    return glasses_with(scheffe_terms(points, degree), blocks)


def glasses_with(terms: Mapping[str, Floats], blocks: Blocks | None = None) -> Glasses:
    """Return glasses whose model has these columns, each of shape (n,), by the names of the terms."""
    matrix = np.column_stack(list(terms.values()))
    between = _basis([_centred(labels) for labels in (blocks or {}).values()], len(matrix))
    return Glasses(tuple(terms), matrix - between @ (between.T @ matrix), between)


def cells(points: Floats) -> Floats:
    """Return one column a distinct blend, 1 for its glasses and 0 for others: shape (n, blends)."""
    _, group = np.unique(np.round(points, 9), axis=0, return_inverse=True)
    group = group.reshape(-1)
    columns: Floats = (group[:, None] == np.arange(group.max(initial=-1) + 1)).astype(np.float64)
    return columns


def _centred(labels: Sequence[Hashable]) -> Floats:
    names = list(dict.fromkeys(labels))
    columns = np.array([[label == name for name in names] for label in labels], dtype=np.float64)
    centred: Floats = columns - columns.mean(axis=0)
    return centred


def _basis(columns: Sequence[Floats], n: int) -> Floats:
    if not columns:
        return np.zeros((n, 0))
    vectors, sizes, _ = np.linalg.svd(np.concatenate(columns, axis=1), full_matrices=False)
    basis: Floats = vectors[:, sizes > 1e-9 * max(1.0, float(sizes.max(initial=0.0)))]
    return basis
