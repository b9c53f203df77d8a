"""What a brief brings to the stocks: honey, water and spirit to dose with, heels left behind, least draws.

A dose carries strength and sugar alone: nothing else dissolved, and no score. Without a moisture or strength in the
brief, honey and spirit are those of the book, which are the ones that can be poured (see declared/substances.py there).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from cooperage.blending.brief.brief import BadBrief, Brief, Dosing
from cooperage.blending.stocks.pool import Flags, Floats, Stocks
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.errors import Refused
from cooperage.liquid import honey_stream

DISSOLVED = ("_g_l", "_mg_l")
SAME_MAKE = 0.01  # honey within a hundredth of the book's sugar is poured as the book's


class CannotBePoured(Refused):
    """A dose of another make than the book's; drawn from a vessel, it can be poured all the same."""

    def __init__(self, name: str, asked: str, known: str) -> None:
        self.name = name
        super().__init__(
            f"the plan doses {name} of {asked}, and the book pours {name} of {known} only; receive it as a lot into a "
            "vessel, read its strength and sugar, and let the brief draw on that"
        )


@dataclass(frozen=True, slots=True)
class DoseMake:
    """Strength [% vol] and sugar [g/L] of a dose."""

    abv: float
    sugar_g_l: float


def make_of(name: str, dosing: Dosing) -> DoseMake:
    """Return what a dose is made of."""
    known = SUBSTANCES[name]
    if dosing.make is None:
        return DoseMake(known.abv, known.sugar_g_l)
    if name == "spirit":
        return DoseMake(dosing.make, 0.0)
    honey = honey_stream(1.0, dosing.make)
    return DoseMake(0.0, float(honey.extract_g_l))


def doses_in(brief: Brief, stocks: Stocks) -> Flags:
    """Return the doses among the stocks."""
    return np.isin(stocks.names, np.array([*brief.dosing], dtype=object))


def stocks_for_brief(brief: Brief, stocks: Stocks) -> Stocks:
    """Return the stocks as the brief sees them; raises BadBrief where a dose has a stock's name."""
    if brief.draws.heel_l:
        held = np.where(np.isfinite(stocks.litres), np.minimum(brief.draws.heel_l, stocks.litres), 0.0)
        stocks = replace(stocks, litres=stocks.litres - held, heel=held)
    if brief.draws.min_draw_l:
        stocks = replace(stocks, min_litres=np.maximum(stocks.min_litres, brief.draws.min_draw_l))
    return with_doses(brief.dosing, stocks) if brief.dosing else stocks


def with_doses(dosing: Mapping[str, Dosing], stocks: Stocks) -> Stocks:
    """Return the stocks and the doses beside them; raises BadBrief where a dose has a stock's name."""
    for name in dosing:
        if name in stocks.names:
            raise BadBrief(
                f"dosing.{name}", f"the pool has a stock of that name; keep it or the dose, or rename {name}"
            )
    litres = np.array([math.inf if dose.litres is None else dose.litres for dose in dosing.values()])
    joined = stocks.joined([*dosing], litres, dose_figures(dosing, stocks))
    if "group" not in joined.labels:
        return joined
    group = joined.labels["group"].copy()
    group[len(stocks) :] = "dosing"
    return replace(joined, labels={**joined.labels, "group": group})


def dose_figures(dosing: Mapping[str, Dosing], stocks: Stocks) -> dict[str, Floats]:
    """Return the figures of doses: strength, sugar and cost, and nothing else dissolved; water costs nothing."""
    makes = [make_of(name, dose) for name, dose in dosing.items()]
    nothing = np.zeros(len(makes))
    figures = {name: nothing for name in stocks.figures if name.endswith(DISSOLVED) or name == "days_in_wood"}
    costs = [0.0 if dose.cost_per_l is None and name == "water" else dose.cost_per_l for name, dose in dosing.items()]
    return figures | {
        "abv": np.array([make.abv for make in makes]),
        "sugar_g_l": np.array([make.sugar_g_l for make in makes]),
        "cost_per_l": np.array([math.nan if cost is None else cost for cost in costs]),
    }


def amount_to_pour(name: str, litres: float, dosing: Dosing) -> float:
    """Return so many litres of a dose in the book's unit (grams of honey, millilitres); raises CannotBePoured."""
    known, make = SUBSTANCES[name], make_of(name, dosing)
    if abs(make.abv - known.abv) > 1e-9:
        raise CannotBePoured(name, f"{make.abv:g} % vol", f"{known.abv:g} % vol")
    if abs(make.sugar_g_l - known.sugar_g_l) > SAME_MAKE * known.sugar_g_l:
        raise CannotBePoured(name, f"{make.sugar_g_l:.0f} g/L of sugar", f"{known.sugar_g_l:.0f} g/L")
    return 1000 * litres / known.ml_per_unit
