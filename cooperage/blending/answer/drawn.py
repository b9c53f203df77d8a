"""What litres drawn come to: the draws in the order to pull them, the figures of the blend, the bottles it fills."""

import math
from collections.abc import Mapping

import numpy as np

from cooperage.blending.answer.answer import Bottling, Draw
from cooperage.blending.answer.result import pull_order
from cooperage.blending.brief.brief import BOTTLE_ML, Brief
from cooperage.blending.lp.columns import per_true_volume, total
from cooperage.blending.lp.volume import Mixing
from cooperage.blending.stocks.pool import Floats, Stocks

MET = 1e-6
WHOLE_BOTTLE = 1e-6  # a bottle short of full by less than this is full


def bottling(brief: Brief, blend: Mapping[str, float | None]) -> Bottling:
    """Return the whole bottles a blend fills, and what each costs."""
    litres, cost = blend["litres"] or 0.0, blend.get("cost_per_l")
    bottle_ml = brief.bottle_ml or BOTTLE_ML
    bottles = math.floor(litres * 1000 / bottle_ml + WHOLE_BOTTLE)
    cases = None if brief.per_case is None else bottles // brief.per_case
    return Bottling(bottle_ml, bottles, cases, None if cost is None else cost * bottle_ml / 1000)


def list_draws(brief: Brief, stocks: Stocks, litres: Floats) -> tuple[Draw, ...]:
    """Return the draws in the order to pull them."""
    order = pull_order(brief, stocks, litres)
    taken, left = litres[order].tolist(), (stocks.litres[order] + stocks.heels[order] - litres[order]).tolist()
    return tuple(
        Draw(str(name), litres, None if math.isinf(rest) else rest)
        for name, litres, rest in zip(stocks.names[order], taken, left, strict=True)
    )


def blend_figures(stocks: Stocks, litres: Floats, mixing: Mixing) -> dict[str, float | None]:
    """Return the litres and every figure of a blend, None where a stock drawn has none; pH is left to be measured."""
    drawn = litres > 0
    poured, true = float(litres.sum()), mixing.litres(litres) if drawn.any() else 0.0
    blend: dict[str, float | None] = {"litres": true}
    for name, per_litre in stocks.figures.items():
        if name == "ph":
            continue
        over = true if per_true_volume(name) else poured
        value = total(per_litre[drawn], litres[drawn]) / over if over > 0 else float("nan")
        blend[name] = value if np.isfinite(value) else None
    return blend
