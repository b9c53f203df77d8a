"""What one flight's scores show, glass by glass and taster by taster, and how little a small panel can show.

Tasters use a scale each in their own way: one scores everything a point high. Where all tasted everything
that cancels out; where glasses were missed it does not, so means are also given adjusted for who did the
tasting, by least squares on score = glass + taster (the intrablock analysis of an incomplete block design).

The panel never declares what rounding can explain. Scores come in steps (whole points, half points), and a step alone
spreads a score by step^2/12, the variance of a uniform distribution (JCGM 100:2008, 4.3.7): tasters who happen to agree
to the step are not surer than that, and what is said to differ must do so beyond it. Nor does it give a least gap wider
than the scale: then none is known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cooperage.errors import BadInput
from cooperage.tasting.statistics.additive import (
    MOST_TASTERS,
    AdditiveFit,
    fewest_tasters,
    fit_in_steps,
    least_gap,
)
from cooperage.tasting.statistics.agreement import kendall_w
from cooperage.tasting.statistics.difference.counts import triangle_critical, triangle_power
from cooperage.tasting.statistics.quantiles import student
from cooperage.tasting.statistics.tables import Floats, NothingToCompare, score_table
from cooperage.units import DEFAULT, Quantity, Units, counted, show, show_worth

Pair = tuple[int, int]


class NotADuplicate(BadInput):
    """A pair of hidden duplicates that is not two different glasses of the flight."""

    def __init__(self, pair: Pair, glasses: int) -> None:
        self.pair, self.glasses = pair, glasses
        super().__init__(f"glasses {pair[0]} and {pair[1]} are not two of this flight's 0 to {glasses - 1}")


BAND = 0.9
"""How often the true mean of a glass lies within its band."""


@dataclass(frozen=True)
class PanelSummary:
    """One flight, in the points of its scale; arrays follow the rows or the columns of the score table."""

    tasted: NDArray[np.int64]  # (glasses,) how many tasted it
    mean: Floats  # (glasses,)
    adjusted: Floats  # (glasses,) mean adjusted for which tasters tasted it
    standard_error: Floats  # (glasses,) of the adjusted mean
    band: Floats  # (glasses,) points on each side of it that hold the true mean 90 times in 100
    spread: Floats  # (glasses,) standard deviation between tasters
    bias: Floats  # (tasters,) points above the panel's average
    consistency: Floats  # (tasters,) mean difference between hidden duplicates; NaN when none were tasted
    residual_sd: float  # of one score, once glass and taster are allowed for
    least_gap: float  # adjusted means farther apart than this differ, over all pairs; NaN when the panel cannot show it
    words: tuple[str, ...]


def summarise(
    scores: ArrayLike,
    *,
    duplicates: Sequence[Pair] = (),
    alpha: float = 0.05,
    width: float = math.inf,
    units: Units = DEFAULT,
) -> PanelSummary:
    """Summarise scores of shape (glasses, tasters); NaN marks a glass not tasted.

    `duplicates` are pairs of glass numbers, from 0, that held the same liquid; `alpha` is the level at
    which glasses are said to differ; `width` is how many points the scale spans; the words are in `units`. Scores of
    different scales must not be mixed in one table.
    """
    table = score_table(scores, partial=True)
    fit = fit_in_steps(table, width)
    consistency = _consistency(table, duplicates)
    gap = least_gap(fit, alpha)
    gap = math.nan if gap > width else gap
    return PanelSummary(
        tasted=np.isfinite(table).sum(axis=1),
        mean=_means(table, 0),
        adjusted=fit.glass,
        standard_error=np.sqrt(np.diag(fit.covariance)),
        band=student(fit.degrees, (1 - BAND) / 2) * np.sqrt(np.diag(fit.covariance)),
        spread=_spread(table),
        bias=fit.bias,
        consistency=consistency,
        residual_sd=fit.residual_sd,
        least_gap=gap,
        words=tuple(_words(table, fit, gap, consistency, alpha, width, units)),
    )


def _means(table: Floats, fewest: int) -> Floats:
    """Mean of each row over what was tasted, NaN where `fewest` scores or fewer stand in it."""
    tasted = np.isfinite(table).sum(axis=1)
    means: Floats = np.where(tasted > fewest, np.nansum(table, axis=1), math.nan) / np.maximum(tasted, 1)
    return means


def _spread(table: Floats) -> Floats:
    """Return the standard deviation of each row, NaN below two scores."""
    squares = (table - _means(table, 1)[:, None]) ** 2
    tasted = np.isfinite(table).sum(axis=1)
    spread: Floats = np.sqrt(_means(squares, 1) * tasted / np.maximum(tasted - 1, 1))
    return spread


def _consistency(table: Floats, duplicates: Sequence[Pair]) -> Floats:
    """Mean size of the difference each taster found between glasses of the same liquid: (tasters,)."""
    for pair in duplicates:
        if pair[0] == pair[1] or not all(0 <= glass < len(table) for glass in pair):
            raise NotADuplicate(pair, len(table))
    first, second = ([pair[side] for pair in duplicates] for side in (0, 1))
    return _means(np.abs(table[first] - table[second]).T, 0)


def _words(
    table: Floats, fit: AdditiveFit, gap: float, consistency: Floats, alpha: float, width: float, units: Units
) -> list[str]:
    tasters = int(np.isfinite(table).any(axis=0).sum())
    lines = [
        _of_the_fit(fit, gap, tasters, alpha, width, units),
        _of_agreement(table, alpha, units),
        _of_duplicates(consistency, units),
        triangle_words(tasters, alpha, units),
    ]
    return [line for line in lines if line]


def _of_the_fit(fit: AdditiveFit, gap: float, tasters: int, alpha: float, width: float, units: Units) -> str:
    if tasters < 2:
        return "One taster is an opinion, not a panel: bias and error cannot be measured."
    if np.isnan(fit.glass).all():
        return "No glass links all the tasters, so their scores cannot be put on one footing."
    widest = float(np.nanmax(fit.glass) - np.nanmin(fit.glass))
    if math.isnan(gap) or widest <= gap:
        who_would = _who_would(fit, tasters, alpha, width, units)
        return f"{_in_words(tasters)} tasters do not show a difference between these glasses.{who_would}"
    alike = int((np.nanmax(fit.glass) - fit.glass <= gap).sum())
    highest = "The highest stands alone." if alike == 1 else f"The highest {alike} do not differ."
    return f"Glasses more than {show_worth(gap, 2, units)} points apart differ. {highest}"


def _who_would(fit: AdditiveFit, tasters: int, alpha: float, width: float, units: Units) -> str:
    """Return how many tasters would see a gap of a tenth of the scale; empty where that is not known."""
    points = width / 10
    if not math.isfinite(points) or not math.isfinite(fit.variance):
        return ""
    needed = fewest_tasters(fit, points, alpha)
    gap = f"a gap of {show_worth(points, 6, units)} {'point' if points == 1 else 'points'}"
    if needed is None:
        return f" Not even {MOST_TASTERS} tasters who score as these do would show {gap}."
    return f" {_in_words(needed)} tasters who score as these do would show {gap}." if needed > tasters else ""


_TO_TWELVE = ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve"]


def _in_words(count: int) -> str:
    """Return a count as a sentence begins with it: "Two", and figures from 13 on."""
    return _TO_TWELVE[count] if count < len(_TO_TWELVE) else str(count)


def _of_agreement(table: Floats, alpha: float, units: Units) -> str:
    glasses, tasters = table.shape
    if min(glasses, tasters) < 2 or np.isnan(table).any():
        return ""
    by_chance = math.factorial(glasses) ** (1 - tasters)
    if by_chance > alpha:
        panel = f"{counted(tasters, 'taster')} on {counted(glasses, 'glass', 'glasses')}"
        return f"Even full agreement of {panel} comes by chance {100 * by_chance:.0f} % of the time."
    try:
        w, p = kendall_w(table)
    except NothingToCompare:
        return "Every taster scored every glass alike."
    verdict = "more than chance" if p <= alpha else "no more than chance may"
    return (
        f"The tasters' rankings agree {verdict} (W {show(Quantity.NUMBER, w, units, digits=2)}, p {p_words(p, units)})."
    )


def p_words(p: float, units: Units = DEFAULT) -> str:
    """Return a probability in three decimals; one that is smaller is not nothing."""
    shown = show(Quantity.NUMBER, max(p, 0.001), units, digits=3)
    return f"< {shown}" if p < 0.0005 else f"= {shown}"


def _of_duplicates(consistency: Floats, units: Units) -> str:
    if np.isnan(consistency).all():
        return ""
    apart = show_worth(float(np.nanmean(consistency)), 2, units)
    return f"The same liquid poured twice was scored {apart} points apart on average."


def triangle_words(tasters: int, alpha: float = 0.05, units: Units = DEFAULT) -> str:
    """Return what a triangle test with this many tasters, one trial each, could show at most."""
    needed, level = triangle_critical(tasters, alpha) if tasters else None, show_worth(alpha, 2, units)
    if needed is None:
        who = counted(tasters, "taster")
        return f"With {who} no triangle test can reach significance at {level}."
    power = triangle_power(tasters, alpha, 0.5)
    rule = f"all {tasters}" if needed == tasters else f"{needed} of {tasters}"
    return (
        f"With {counted(tasters, 'taster')} a triangle test needs {rule} right at {level}; a difference that "
        f"half of them truly taste would be missed {100 * (1 - power):.0f} % of the time."
    )
