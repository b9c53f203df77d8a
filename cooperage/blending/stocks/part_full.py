"""Barrels that a blend leaves part full, and draws too small to open a barrel for."""

from typing import NamedTuple

import numpy as np

from cooperage.blending.brief.brief import Brief
from cooperage.blending.stocks.dosing import doses_in
from cooperage.blending.stocks.pool import Flags, Floats, Stocks

TINY_L, TINY_SHARE = 10.0, 0.05  # of what the barrel holds; below either, a draw is tiny (common practice, no source)
DRAINED_L = 0.0005  # what is left of a barrel that is as good as drained: the book's millilitre rounds it away


class Untidy(NamedTuple):
    """What a plan leaves behind: barrels part full, and among those the ones opened for a tiny draw."""

    part_full: int
    tiny_draws: int

    @property
    def total(self) -> int:
        """Both together; a barrel left part full by a tiny draw counts twice."""
        return self.part_full + self.tiny_draws


def can_be_partly_full(brief: Brief, stocks: Stocks) -> Flags:
    """Return the stocks in which a rest would lie under air: those with an end that are neither dose nor tank."""
    group = stocks.labels.get("group")
    tank = np.zeros(len(stocks), dtype=np.bool_) if group is None else np.asarray(group == "tank", dtype=np.bool_)
    flags: Flags = np.isfinite(stocks.litres) & ~doses_in(brief, stocks) & ~tank
    return flags


def tiny_below(stocks: Stocks) -> Floats:
    """Return the litres below which a draw from each stock is tiny; all that it holds is never tiny."""
    below: Floats = np.minimum(np.maximum(TINY_L, TINY_SHARE * stocks.litres), stocks.litres)
    return below


def untidy_of(brief: Brief, stocks: Stocks, litres: Floats) -> Untidy:
    """Count what n draws [L] leave behind."""
    part_full = can_be_partly_full(brief, stocks) & (litres > 0) & (stocks.litres - litres > DRAINED_L)
    tiny = part_full & (litres < tiny_below(stocks) - DRAINED_L)
    return Untidy(int(part_full.sum()), int(tiny.sum()))


def rest_words(litres: float, left: float) -> str:
    """Return what a draw of so many litres leaves of a barrel: nothing, a heel too small to keep, or a part."""
    if left <= DRAINED_L:
        return "drained"
    return "heel" if left < max(TINY_L, TINY_SHARE * (litres + left)) else "part full"
