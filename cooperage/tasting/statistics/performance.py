"""How each taster did beside the others, and how the panel did: who finds differences, repeats himself, agrees.

A taster's agreement is always with the others: with himself in the mean, a taster who guesses agrees with it too. The
slope is how widely he uses the scale, 1 as the panel does. Of the panel, product x taster is split into scale use,
which is no disagreement, and what is left: products are then held against disagreement alone (mixed assessor model).

Source: Brockhoff, Schlich and Skovgaard (2015), Food Quality and Preference 39, 156-166; Næs, Brockhoff and Tomic,
Statistics for Sensory and Consumer Science (2010), ch. 3.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from cooperage.tasting.statistics.products import ProductAnalysis, analyse_products, cell_means, long_scores
from cooperage.tasting.statistics.squares import Source, against
from cooperage.tasting.statistics.tables import Floats

FEWEST = 3
"""Fewer products than this that a taster and others tasted show no agreement."""


@dataclass(frozen=True, slots=True)
class TasterPerformance:
    """How one taster scored products, in points of the scale; NaN where it cannot be known.

    `discrimination` is F of products in his scores alone, with `p`; `repeatability` the standard deviation of his
    scores of one product; `agreement` the correlation of his means with those of the others, product by product;
    `slope` that of his means on the panel's; `bias` his mean above the panel's over the products he tasted.
    """

    glasses: int
    bias: float
    discrimination: float
    p: float
    repeatability: float
    agreement: float
    slope: float


@dataclass(frozen=True)
class PanelPerformance:
    """How a panel scored: each taster in the order of the table, products tested with tasters at random, and scale use.

    `scaling` and `disagreement` split product x taster; both are None where some taster left a product out.
    `product_by_disagreement` holds products against disagreement.
    """

    tasters: tuple[TasterPerformance, ...]
    analysis: ProductAnalysis
    scaling: Source | None
    disagreement: Source | None
    product_by_disagreement: Source | None


def performance(scores: ArrayLike, same: Sequence[Hashable] | None = None) -> PanelPerformance:
    """Judge a panel by scores of shape (glasses, tasters); `same` names the product of each glass.

    Discrimination and repeatability want a product poured twice. Raises NothingToCompare below two products or tasters.

    >>> from cooperage.tasting import performance
    >>> found = performance([[14, 15, 13], [11, 12, 12], [6, 8, 5], [13, 13, 11]])
    >>> [round(each.agreement, 2) for each in found.tasters]
    [0.97, 0.98, 0.94]
    """
    analysis = analyse_products(scores, same)
    table = np.asarray(scores, dtype=np.float64)
    means = _whole_width(cell_means(long_scores(table, same)), table)
    tasters = tuple(_of_taster(table, means, at, same) for at in range(table.shape[1]))
    if not analysis.balanced or np.isnan(means).any():
        return PanelPerformance(tasters, analysis, None, None, None)
    return PanelPerformance(tasters, analysis, *_split(means, analysis))


def agreement_with_others(means: Floats, at: int) -> float:
    """Return Pearson's correlation of a taster with the mean of the others over the glasses that both tasted.

    NaN with fewer than `FEWEST` such glasses, or where either scored them all alike.
    """
    own, others = means[:, at], np.delete(means, at, axis=1)
    tasted = np.isfinite(others).sum(axis=1)
    both = np.isfinite(own) & (tasted > 0)
    if both.sum() < FEWEST:
        return math.nan
    mean = np.nansum(others[both], axis=1) / tasted[both]
    if np.ptp(own[both]) == 0 or np.ptp(mean) == 0:
        return math.nan
    return float(np.corrcoef(own[both], mean)[0, 1])


def _whole_width(means: Floats, table: Floats) -> Floats:
    """Means of tasters who scored anything, with a column of NaN for each who did not."""
    whole = np.full((len(means), table.shape[1]), math.nan)
    whole[:, np.isfinite(table).any(axis=0)] = means
    return whole


def _of_taster(table: Floats, means: Floats, at: int, same: Sequence[Hashable] | None) -> TasterPerformance:
    own = np.isfinite(table[:, at])
    if not own.any():
        return TasterPerformance(0, *[math.nan] * 6)
    between, within = _one_way(table[:, [at]], same)
    tested = against(between, within)
    panel = np.nansum(means, axis=1) / np.maximum(np.isfinite(means).sum(axis=1), 1)
    there = np.isfinite(means[:, at])
    return TasterPerformance(
        int(own.sum()),
        float((means[there, at] - panel[there]).mean()),
        tested.f,
        tested.p,
        math.sqrt(within.mean_square) if within.degrees else math.nan,
        agreement_with_others(means, at),
        _slope(means[there, at], panel[there]),
    )


def _one_way(column: Floats, same: Sequence[Hashable] | None) -> tuple[Source, Source]:
    """Squares between and within the products of one taster."""
    long = long_scores(column, same)
    counts = np.bincount(long.product)
    means = np.bincount(long.product, long.score) / counts
    within = float(((long.score - means[long.product]) ** 2).sum())
    between = float((counts * (means - long.score.mean()) ** 2).sum())
    return Source(between, len(counts) - 1), Source(within, len(long.score) - len(counts))


def _slope(own: Floats, panel: Floats) -> float:
    centred = panel - panel.mean()
    spread = float(centred @ centred)
    return float(centred @ own) / spread if len(own) >= FEWEST and spread > 0 else math.nan


def _split(means: Floats, analysis: ProductAnalysis) -> tuple[Source | None, Source | None, Source | None]:
    """Split product x taster of a balanced table into scale use and disagreement."""
    products, tasters = means.shape
    panel = means.mean(axis=1) - means.mean()
    spread = float(panel @ panel)
    if spread == 0 or products < FEWEST:
        return None, None, None
    poured = analysis.product.squares / (tasters * spread)
    own = (means - means.mean(axis=0)).T @ panel / spread
    whole = analysis.interaction if analysis.interaction.degrees else analysis.residual
    scaling = Source(poured * spread * float(((own - 1) ** 2).sum()), tasters - 1)
    disagreement = Source(whole.squares - scaling.squares, whole.degrees - scaling.degrees)
    return against(scaling, disagreement), disagreement, against(analysis.product, disagreement)
