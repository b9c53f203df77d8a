"""How sure a blend is: the readings' doubt carried into the blend, and limits met with a stated chance.

A chance is of the blend itself, not of what an instrument will show of it: that errs besides, and alike on the stocks
and on the blend. A figure of the blend, the sum of x_i a_i over V, has the variance x'Cx over V^2 (see
`stocks/doubt.py`); without common errors, as of a table, that is the sum of (x_i u_i)^2 over V^2. A limit is met
with confidence c when the figure keeps z(c) of these deviations from it: the root of x'Cx is convex, so each plan that
keeps too few gives one linear row which no plan that keeps enough can break, and a few such rows bring the programme to
the best plan that keeps enough (Kelley 1960, J. SIAM 8). A limit with two sides shares the risk out as its plan does,
and at the worst in halves. Errors of different figures are independent, so chances of several limits are multiplied.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from math import prod

import numpy as np
from scipy.special import ndtr, ndtri

from cooperage.blending.answer.answer import Chance
from cooperage.blending.brief.brief import BadBrief, Bound, Brief
from cooperage.blending.brief.figures import figure_name, format_chance, unit_of_limit
from cooperage.blending.brief.quantities import DeviationText, FigureText, QuantityText
from cooperage.blending.lp.columns import per_true_volume, total
from cooperage.blending.lp.limits import Cut, Side
from cooperage.blending.stocks.doubt import along
from cooperage.blending.stocks.pool import Floats, Stocks
from cooperage.book.declared.properties import PROPERTIES

MOST_CUTS = 60
KEPT_MORE = 1e-3  # rows ask for a little more than is checked, so that they end in a few
MIXED_UP = ("litres", "cost_per_l", "price_per_l")


def ready(brief: Brief, stocks: Stocks) -> Stocks:
    """Return the stocks with every uncertainty that can be known; raises BadBrief where confidence lacks one.

    A blank beside known ones is an ordinary reading of that property, or as unsure as the least sure that is given.
    With a confidence in the brief, a property without a column is as sure as an ordinary reading.
    """
    filled = {name: _filled(name, column) for name, column in stocks.uncertainty.items()}
    for name, span in brief.limits.items() if brief.confidence is not None else ():
        if span.low == span.high:
            raise BadBrief(
                f"limits.{name}", "no reading can promise one exact figure with confidence; give it a within"
            )
        if name not in filled:
            if name not in PROPERTIES:
                raise BadBrief("confidence", f"the pool has no uncertainty of {name}; add a column {name}_u")
            doses = np.isin(stocks.names, np.array([*brief.dosing], dtype=object))
            filled[name] = np.where(doses, 0.0, PROPERTIES[name].uncertainty)
    return replace(stocks, uncertainty=filled)


def _filled(name: str, column: Floats) -> Floats:
    blank = np.isnan(column)
    ordinary = PROPERTIES[name].uncertainty if name in PROPERTIES else float(np.nan_to_num(column).max(initial=0.0))
    filled: Floats = np.where(blank, ordinary, column)
    return filled


def deviations(stocks: Stocks, litres: Floats, true: float) -> dict[str, float]:
    """Return one standard deviation of each figure of a blend whose stocks' uncertainties are known."""
    over = {name: true if per_true_volume(name) else float(litres.sum()) for name in stocks.uncertainty}
    return {
        name: float(np.sqrt(total(litres, along(u, stocks.common.get(name), litres)))) / over[name]
        for name, u in stocks.uncertainty.items()
        if over[name] > 0
    }


def chances(brief: Brief, blend: Mapping[str, float | None], deviation: Mapping[str, float]) -> tuple[Chance, ...]:
    """Return the chance that each limit is met, for properties whose uncertainty is known."""
    return tuple(_chances(brief, blend, deviation))


def _chances(brief: Brief, blend: Mapping[str, float | None], deviation: Mapping[str, float]) -> Iterator[Chance]:
    for name, span in brief.limits.items():
        value, sigma = blend.get(name), deviation.get(name)
        if value is None or sigma is None:
            continue
        chance = chance_within(span, value, sigma)
        sure = f": {format_chance(chance)} sure to be "
        words = QuantityText(
            f"{figure_name(name)} ", FigureText(name, value), " ± ", DeviationText(sigma), sure, _asked(span, name)
        )
        yield Chance(name, chance, sigma, words, unit_of_limit(name))


def chance_of_all(chances: Iterable[Chance]) -> float | None:
    """Return the chance that every limit is met of which a chance is known; None where there is none."""
    known = [chance.chance for chance in chances]
    return prod(known) if known else None


def chance_within(span: Bound, value: float, sigma: float) -> float:
    """Return the chance that a normal figure lies in a span, ends included."""
    if sigma == 0:
        return float(span.low - 1e-9 <= value <= span.high + 1e-9)
    return float(ndtr((span.high - value) / sigma) - ndtr((span.low - value) / sigma))


def _asked(span: Bound, name: str) -> QuantityText:
    if np.isinf(span.low):
        return QuantityText("at most ", FigureText(name, span.high))
    if np.isinf(span.high):
        return QuantityText("at least ", FigureText(name, span.low))
    return QuantityText("between ", FigureText(name, span.low, with_unit=False), " and ", FigureText(name, span.high))


def cuts_at(
    brief: Brief, stocks: Stocks, litres: Floats, blend: Mapping[str, float | None], deviation: Mapping[str, float]
) -> tuple[Cut, ...]:
    """Return a row for each side of each limit that a plan does not meet with the brief's confidence."""
    return tuple(
        _cut(chance.limit, stocks, litres, *side)
        for chance in _chances(brief, blend, deviation)
        if brief.confidence is not None and chance.chance < brief.confidence
        for side in _risks(
            brief.limits[chance.limit], blend[chance.limit] or 0.0, chance.uncertainty, 1 - brief.confidence
        )
    )


def _cut(name: str, stocks: Stocks, litres: Floats, side: Side, value: float, risk: float) -> Cut:
    steepest = along(stocks.uncertainty[name], stocks.common.get(name), litres)
    size = float(np.sqrt(total(litres, steepest)))
    slope = steepest / size if size > 0 else np.zeros(len(litres))
    z = float(ndtri(1 - risk)) * (1 + KEPT_MORE)
    return Cut(name, side, value, stocks.figures[name] + (z if side == "max" else -z) * slope)


def _risks(span: Bound, value: float, deviation: float, risk: float) -> list[tuple[Side, float, float]]:
    """Return the sides that a plan leaves too unsure, with the risk that each may keep."""
    sides: list[tuple[Side, float]] = [("min", span.low), ("max", span.high)]
    ends = [(side, end) for side, end in sides if np.isfinite(end)]
    there = [_risk(side, end, value, deviation) for side, end in ends]
    unsure = [(side, end, risk) for (side, end), own in zip(ends, there, strict=True) if own > risk]
    if unsure:
        return unsure
    # Each side alone is sure enough, both together are not: each leaves the other twice what it takes now.
    kept = [max(risk / len(ends), risk - 2 * (sum(there) - own)) for own in there]
    return [(side, end, own) for (side, end), own in zip(ends, kept, strict=True)]


def _risk(side: Side, end: float, value: float, deviation: float) -> float:
    """Return the chance that a figure lies on the wrong side of an end."""
    beyond = end - value if side == "min" else value - end
    return float(ndtr(beyond / deviation)) if deviation > 0 else float(beyond > 0)
