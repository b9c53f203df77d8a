"""Do the products differ, as any tasters would find, and by how much: analysis of variance with tasters at random.

Glasses of the same liquid are one product, each pouring a replicate. Tasters stand for others, so products are held
against how differently tasters see them (product x taster) and not against how well each repeats himself: the second
would have products differ far too often. Where every product was poured and tasted equally often, F is the quotient of
mean squares; otherwise it comes from the mixed model by restricted maximum likelihood (reml.py), as the means do.

F supposes normal errors, alike for all tasters. In whole points, or where some tasters err twice as widely, small
panels that taste no difference have p below 0.05 in up to 7.5 of 100 (tests/benchmarks/bench_panels.py). Where it
matters go by `p_shuffled`, which supposes neither.

Source: Lea, Næs and Rødbotten, Analysis of Variance for Sensory Data (1997), ch. 4; Næs, Brockhoff and Tomic,
Statistics for Sensory and Consumer Science (2010), ch. 5.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from cooperage.errors import BadInput
from cooperage.tasting.statistics.additive import fit_additive
from cooperage.tasting.statistics.quantiles import student
from cooperage.tasting.statistics.reml import MixedFit, fit_mixed
from cooperage.tasting.statistics.shuffled import shuffled_p
from cooperage.tasting.statistics.squares import Source, against, dropped, left_over
from cooperage.tasting.statistics.tables import Floats, Integers, NothingToCompare, score_table


class NotAProductEach(BadInput):
    """Products named for more glasses, or fewer, than there are."""

    def __init__(self, named: int, glasses: int) -> None:
        self.named, self.glasses = named, glasses
        super().__init__(f"{named} products for {glasses} glasses; name the product of each glass")


@dataclass(frozen=True)
class ProductAnalysis:
    """An analysis of variance of products by tasters drawn at random, and the products' means.

    `low` and `high` of shape (products,) hold the mean that all such tasters would give with the chance asked for.
    `product` is adjusted for tasters, `interaction` for both; `interaction` has no degrees without replicates.
    `cells`, of shape (products, tasters), are what each gave each product on average, NaN for nothing.
    `mixed` is None, and the ends are NaN, where tasters contradict each other in nothing: then there is no error.
    """

    products: tuple[Hashable, ...]
    product: Source
    taster: Source
    interaction: Source
    residual: Source
    balanced: bool
    means: Floats
    low: Floats
    high: Floats
    mixed: MixedFit | None
    cells: Floats

    @cached_property
    def p_shuffled(self) -> float:
        """The p of products by shuffling what each taster gave: true of whole points and of unequal tasters too."""
        return shuffled_p(self.cells)


@dataclass(frozen=True)
class LongScores:
    """Scores one under the other: the score, product and taster of each, products and tasters numbered from 0."""

    score: Floats
    product: Integers
    taster: Integers
    products: tuple[Hashable, ...]

    @property
    def cells(self) -> Integers:
        """How many scores each taster gave each product: (products, tasters)."""
        counts = np.zeros((len(self.products), int(self.taster.max()) + 1), dtype=np.int64)
        np.add.at(counts, (self.product, self.taster), 1)
        return counts


def long_scores(scores: ArrayLike, same: Sequence[Hashable] | None = None) -> LongScores:
    """Set scores of shape (glasses, tasters) one under the other; `same` names the product of each glass.

    Products stand in the order in which they are first named; tasters and products that have no score are left out.
    """
    table = score_table(scores, partial=True)
    named = list(range(len(table)) if same is None else same)
    if len(named) != len(table):
        raise NotAProductEach(len(named), len(table))
    glass, taster = np.nonzero(np.isfinite(table))
    there = tuple(dict.fromkeys(named[at] for at in glass))
    place = {product: at for at, product in enumerate(there)}
    product = np.array([place[named[at]] for at in glass], dtype=np.int64)
    return LongScores(table[glass, taster], product, np.unique(taster, return_inverse=True)[1], there)


def analyse_products(
    scores: ArrayLike, same: Sequence[Hashable] | None = None, *, level: float = 0.95
) -> ProductAnalysis:
    """Analyse scores of shape (glasses, tasters), NaN for a glass not tasted, tasters at random.

    `same` names the product of each glass (its vessel): glasses of one product are replicates. `level` is that of the
    means' intervals. Raises NothingToCompare below two products or two tasters.

    >>> from cooperage.tasting import analyse_products
    >>> found = analyse_products([[14, 15, 13], [11, 12, 12], [6, 8, 5], [13, 13, 11]])
    >>> print(f"F {found.product.f:.1f}, p {found.product.p:.5f}, best {found.means[0]:.1f}")
    F 51.6, p 0.00011, best 14.0
    """
    long = long_scores(scores, same)
    if len(long.products) < 2 or len(np.unique(long.taster)) < 2:
        raise NothingToCompare
    product, taster = np.eye(len(long.products))[long.product], np.eye(long.taster.max() + 1)[long.taster]
    cells = _columns(long.product * taster.shape[1] + long.taster)
    centred = long.score - long.score.mean()
    additive = left_over(centred, np.hstack([product, taster]))
    residual = left_over(centred, cells)
    interaction = dropped(additive, residual)
    if not residual.degrees:  # no glass was poured twice
        interaction, residual = Source(0.0, 0), additive
    below = interaction if interaction.degrees else residual
    balanced = len(set(long.cells.ravel().tolist())) == 1
    mixed = fit_mixed(long.score, product, _groups(long, below is interaction)) if below.squares > 0 else None
    adjusted = dropped(left_over(centred, taster), additive)
    tested = against(adjusted, below) if balanced or mixed is None else _by_model(adjusted, mixed)
    means, half = _means(long, mixed, level)
    return ProductAnalysis(
        long.products,
        tested,
        dropped(left_over(centred, product), additive),
        against(interaction, residual),
        residual,
        balanced,
        means,
        means - half,
        means + half,
        mixed,
        cell_means(long),
    )


def _columns(group: Integers) -> Floats:
    _, place = np.unique(group, return_inverse=True)
    return np.eye(int(place.max()) + 1)[place]


def _groups(long: LongScores, with_cells: bool) -> list[Integers]:
    groups = [long.taster]
    if with_cells:
        groups.append(long.product * (int(long.taster.max()) + 1) + long.taster)
    return groups


def _by_model(above: Source, mixed: MixedFit) -> Source:
    size = len(mixed.estimates)
    f, below, p = mixed.test(np.eye(size)[:-1] - np.eye(size)[1:])
    return Source(above.squares, above.degrees, f, p, below)


def _means(long: LongScores, mixed: MixedFit | None, level: float) -> tuple[Floats, Floats]:
    """Mean of each product, and half the width of its interval."""
    if mixed is None:
        return fit_additive(cell_means(long)).glass, np.full(len(long.products), math.nan)
    errors = np.sqrt(np.diag(mixed.covariance))
    t = np.array([student(mixed.degrees(row), (1 - level) / 2) for row in np.eye(len(errors))])
    return mixed.estimates, t * errors


def cell_means(long: LongScores) -> Floats:
    """Mean of each taster's scores of each product: (products, tasters), NaN where there is none."""
    sums = np.zeros(long.cells.shape)
    np.add.at(sums, (long.product, long.taster), long.score)
    return np.where(long.cells > 0, sums / np.maximum(long.cells, 1), math.nan)
