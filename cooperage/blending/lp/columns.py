"""The columns of a plan, and quantities as rows over them.

Columns are the n draws (in litres, or in barrels for those drained whole), then one 0-or-1 switch for each stock whose
opening matters, then one for each stock where it matters whether it is drained, then one for each where a tiny draw
matters, then one distance for each `nearest` objective.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cooperage.blending.stocks.pool import Flags, Floats, Stocks


def per_true_volume(name: str) -> bool:
    """Return True if a figure is so much in a litre (abv, g/L, cost per litre), and not a score averaged by draws."""
    return name in ("abv", "sg") or name.endswith("_l")


def total(per_column: Floats, z: Floats) -> float:
    """Return the sum of a row over a plan; `@` would wake BLAS threads, which costs more than the sum."""
    return float((per_column * z).sum())


@dataclass(frozen=True, slots=True)
class RowOf:
    """A linear amount of the plan, or that amount over another: litres, cost, or sugar over litres."""

    amount: Floats
    base: Floats | None = None

    def of(self, z: Floats) -> float:
        """Return its value for a plan; NaN for a figure of an empty blend."""
        if self.base is None:
            return total(self.amount, z)
        weight = total(self.base, z)
        return total(self.amount, z) / weight if weight > 0 else float("nan")

    def weight(self, z: Floats) -> float:
        """Return what it is over: 1 for a plain amount."""
        return 1.0 if self.base is None else total(self.base, z)

    def less(self, value: float) -> Floats:
        """Return amount - value * base, which is at or below 0 where the figure is at or below the value."""
        return self.amount if self.base is None else self.amount - value * self.base


@dataclass(frozen=True)
class Columns:
    """What each column of a plan stands for, at given volume factors (litres of blend per litre drawn)."""

    stocks: Stocks
    factors: Floats
    whole: Flags
    opened: Flags
    drained: Flags
    tiny: Flags
    distances: int

    @property
    def draws(self) -> int:
        """How many columns are draws."""
        return len(self.stocks)

    @cached_property
    def switched(self) -> Flags:
        """The stocks with a switch: those whose opening matters; a barrel drained whole is its own."""
        switched: Flags = self.opened & ~self.whole
        return switched

    @cached_property
    def switches(self) -> int:
        """How many columns are switches."""
        return int(self.switched.sum())

    @cached_property
    def drains(self) -> int:
        """How many columns mark whether a stock is drained."""
        return int(self.drained.sum())

    @cached_property
    def tinies(self) -> int:
        """How many columns mark whether a draw is tiny."""
        return int(self.tiny.sum())

    @property
    def count(self) -> int:
        """All columns."""
        return self.draws + self.switches + self.drains + self.tinies + self.distances

    @cached_property
    def measure(self) -> Floats:
        """Litres in one unit of each draw: one, or the barrel."""
        measure: Floats = np.where(self.whole, self.stocks.litres, 1.0)
        return measure

    def litres(self, z: Floats) -> Floats:
        """Return the litres a plan draws from each stock."""
        drawn: Floats = z[: self.draws] * self.measure
        return drawn

    def over_draws(self, per_litre: Floats) -> Floats:
        """Return the row that sums something per litre over the draws."""
        row = np.zeros(self.count)
        row[: self.draws] = per_litre * self.measure
        return row

    def over_opened(self, per_stock: Floats) -> Floats:
        """Return the row that sums something per stock over those drawn on."""
        row = np.zeros(self.count)
        row[: self.draws] = np.where(self.whole, per_stock, 0.0)
        row[self.draws : self.draws + self.switches] = per_stock[self.switched]
        return row

    @cached_property
    def partly_full(self) -> Floats:
        """The row that counts the stocks drawn on but not drained, among those where that matters."""
        row = np.zeros(self.count)
        first = self.draws + self.switches
        row[self.draws : first] = self.drained[self.switched]
        row[first : first + self.drains] = -1.0
        return row

    @cached_property
    def tiny_draws(self) -> Floats:
        """The row that counts the tiny draws."""
        row = np.zeros(self.count)
        first = self.draws + self.switches + self.drains
        row[first : first + self.tinies] = 1.0
        return row

    def distance(self, number: int) -> Floats:
        """Return the row that is the distance column of the so-many-th `nearest` objective."""
        row = np.zeros(self.count)
        row[self.draws + self.switches + self.drains + self.tinies + number] = 1.0
        return row

    @cached_property
    def volume(self) -> Floats:
        """Litres of blend."""
        return self.over_draws(self.factors)

    @cached_property
    def poured(self) -> Floats:
        """Litres drawn."""
        return self.over_draws(np.ones(self.draws))

    def figure(self, name: str) -> RowOf:
        """Return a figure of the blend: litres, or a property over true volume or over the litres drawn."""
        if name == "litres":
            return RowOf(self.volume)
        amount = self.over_draws(self.stocks.figures[name])
        return RowOf(amount, self.volume if per_true_volume(name) else self.poured)
