"""Which reading would make a blend surer: for each stock drawn and each limit, what measuring it again would decide.

A reading of one stock takes part of the doubt of the blend's figure away and moves the figure by as much as that part
may be off. Its worth is how much less often one would be wrong in taking the likelier side of the limit: the value of
sample information (Raiffa and Schlaifer (1961), Applied Statistical Decision Theory, ch. 4).
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
    for place in np.flatnonzero(litres > 0):
        doubt, share = float(stocks.uncertainty[name][place]), float(litres[place]) / whole
        moves = share * doubt**2 / float(np.hypot(doubt, PROPERTIES[name].uncertainty)) if doubt > 0 else 0.0
        if moves > 0:
            yield _worth(str(stocks.names[place]), brief.limits[name], value, chance, moves)


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
