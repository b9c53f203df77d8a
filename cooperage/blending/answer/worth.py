"""Which reading would make a blend surer: for each stock drawn and each limit, what measuring it again would decide.

A reading of one stock takes part of the doubt of the blend's figure away and moves the figure by as much as that part
may be off. It shows what other stocks err by as far as they err alike (from one reading, at a rate learned from the
lot), and nothing of what the instrument itself is off by. Its worth is how much less often one would be wrong in
taking the likelier side of the limit: the value of sample information (Raiffa and Schlaifer (1961), Applied Statistical
Decision Theory, ch. 4).
"""

from collections.abc import Iterator, Mapping

import numpy as np
from scipy.special import ndtri

from cooperage.blending.answer.answer import Chance, Worth
from cooperage.blending.answer.chance import chance_within
from cooperage.blending.brief.brief import Bound, Brief
from cooperage.blending.brief.figures import figure_name
from cooperage.blending.brief.quantities import QuantityText
from cooperage.blending.lp.columns import per_true_volume
from cooperage.blending.stocks.doubt import along, sum_moved
from cooperage.blending.stocks.pool import Floats, Stocks
from cooperage.book.declared.properties import PROPERTIES

MOST = 3
"""So many readings are named."""
_LEAST = 0.005  # of the chance of being wrong: less is not worth the walk (common practice, no source)
_STEPS: Floats = ndtri((np.arange(64) + 0.5) / 64)  # where a normal figure may come to lie, each as likely


def readings_worth(
    brief: Brief, stocks: Stocks, litres: Floats, blend: Mapping[str, float | None], chances: tuple[Chance, ...]
) -> tuple[Worth, ...]:
    """Return the readings that would decide most, the best first; `litres` are drawn of each stock, shape (stocks,)."""
    found = [worth for chance in chances for worth in _of_limit(brief, stocks, litres, blend, chance)]
    found = [worth for worth in found if worth.wrong - worth.wrong_after >= _LEAST]
    return tuple(sorted(found, key=lambda worth: worth.wrong_after - worth.wrong)[:MOST])


def _of_limit(
    brief: Brief, stocks: Stocks, litres: Floats, blend: Mapping[str, float | None], chance: Chance
) -> Iterator[Worth]:
    name, value = chance.limit, blend[chance.limit]
    if value is None or name not in PROPERTIES:
        return
    whole = (blend["litres"] or 0.0) if per_true_volume(name) else float(litres.sum())
    moves = _moves(stocks, name, litres) / whole
    for place in np.flatnonzero((litres > 0) & (moves > 0)):
        yield _worth(str(stocks.names[place]), brief.limits[name], value, chance, float(moves[place]))


def _moves(stocks: Stocks, name: str, litres: Floats) -> Floats:
    """Return how far a reading of each stock may move the sum of litres x figure, one standard deviation.

    Where the figure errs by e and the reading by r, r - e is new, and the sum's error is regressed on that.
    """
    common, u = stocks.common.get(name), stocks.uncertainty[name]
    with_sum, own = along(u, common, litres), u**2
    if common is None:
        shown: Floats = own + PROPERTIES[name].uncertainty ** 2
    else:
        with_sum = with_sum - (common.again * sum_moved(common, litres)).sum(axis=1)
        alike = (common.moves - common.again) ** 2 - common.moves**2
        shown = own + alike.sum(axis=1) + common.noise**2
    moves: Floats = np.where(u > 0, np.abs(with_sum) / np.sqrt(shown), 0.0)
    return moves


def _worth(stock: str, span: Bound, value: float, chance: Chance, moves: float) -> Worth:
    """Return what a reading is worth that may move the blend's figure by `moves`, one standard deviation."""
    left = float(np.sqrt(max(0.0, chance.uncertainty**2 - moves**2)))
    after = np.array([chance_within(span, value + moves * step, left) for step in _STEPS])
    wrong_after = float(np.minimum(after, 1 - after).mean())
    low, high = (float(each) for each in np.quantile(after, (0.16, 0.84)))
    words = QuantityText(
        f"{figure_name(chance.limit)} of {stock}: {_percent(chance.chance)} % sure now, ",
        f"{_percent(low)} to {_percent(high)} % once it is measured",
    )
    wrong = min(chance.chance, 1 - chance.chance)
    return Worth(stock, chance.limit, chance.chance, low, high, wrong, wrong_after, words)


def _percent(chance: float) -> str:
    return f"{100 * min(max(chance, 0.01), 0.99):.0f}"
