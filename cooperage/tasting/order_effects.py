"""What the glass before did to a score, in a flight whose tasters met the glasses in orders of their own."""

from dataclasses import dataclass

import numpy as np

from cooperage.errors import BadInput
from cooperage.tasting.flights import Flight, Glass, score_table_of
from cooperage.tasting.flights.outcome import scorers
from cooperage.tasting.flights.scales import OVERALL
from cooperage.tasting.panel import p_words
from cooperage.tasting.statistics.carry_over import CarryOver, carry_over
from cooperage.units import DEFAULT, Quantity, Units, show


class NoOrdersKept(BadInput):
    """A flight of which fewer than two tasters have an order and scores."""

    def __init__(self, code: str) -> None:
        self.code = code
        super().__init__(f"flight {code} has no orders of two tasters who scored; name tasters when you pour the next")


@dataclass(frozen=True, slots=True)
class GlassInOrder:
    """A glass: its plain mean, its effect with the glass before allowed for, and what it leaves to the next [points].

    Both effects are about the mean of all glasses.
    """

    glass: Glass
    mean: float
    direct: float
    carried: float


@dataclass(frozen=True, slots=True)
class OrderEffects:
    """The glasses of a flight, best first, and the fit behind them."""

    rows: list[GlassInOrder]
    fit: CarryOver

    def words(self, units: Units = DEFAULT) -> str:
        """Return whether the glass before matters, as far as this panel shows."""
        tested = self.fit.carry_over_adjusted
        if np.isnan(tested.p):
            return "Too few scores are left over to judge what the glass before did."
        most = max(abs(row.carried) for row in self.rows)
        if tested.p <= 0.05:
            points = show(Quantity.NUMBER, most, units, digits=1)
            return f"The glass before moves a score by up to {points} points (p {p_words(tested.p, units)})."
        return f"No effect of the glass before is shown (p {p_words(tested.p, units)})."


def order_effects(poured: Flight, what: str = OVERALL) -> OrderEffects:
    """Return what glasses and the glasses before them did to the scores of a closed flight.

    Raises StillBlind, NotInThisFlight, NoOrdersKept, OrdersTooAlike.
    """
    table = score_table_of(poured, what)
    place = {glass.code: at for at, glass in enumerate(poured.glasses)}
    rows = [(at, poured.orders[name]) for at, name in enumerate(scorers(poured, what)) if name in poured.orders]
    if len(rows) < 2:
        raise NoOrdersKept(poured.code)
    orders = np.array([[place[code] for code in order] for _, order in rows])
    scores = np.array([table[order, at] for (at, _), order in zip(rows, orders, strict=True)])
    fit = carry_over(orders, scores)
    found = [
        GlassInOrder(glass, float(np.nanmean(scores[orders == at])), float(fit.direct[at]), float(fit.carry_over[at]))
        for at, glass in enumerate(poured.glasses)
    ]
    return OrderEffects(sorted(found, key=lambda row: -row.direct), fit)
