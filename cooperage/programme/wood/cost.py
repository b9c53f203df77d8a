"""What a barrel costs for each litre and month: its price over its fills, what it loses, the work it asks.

What is unknown is unknown, never nothing. Money has no currency here: it is what prices were typed in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

from cooperage.liquid.wood import wood_left
from cooperage.programme.wood.history import BarrelHistory

MONTH_DAYS = 365.25 / 12
USUAL_FILL_DAYS = 365.25
"""How long a fill usually lasts (common practice, no source): the open fill bears its price by the share of this."""
EXPECTED_FILLS = 6
"""Fills that a barrel is bought for: as wood it lasts two or three, as a vessel five to ten (common practice)."""

Spread: TypeAlias = Literal["straight", "effect"]
"""How a price is spread over fills: in equal parts, or by the wood effect that each fill uses up."""


@dataclass(frozen=True, slots=True)
class PriceSpread:
    """A price over the fills so far, to the cent: what each bears, and what is left in the books.

    `spread` is how it was done: by effect only where the barrel had some when it came.
    """

    price: float
    charges: tuple[float, ...]
    left: float
    spread: Spread

    @property
    def used(self) -> float:
        """What the fills so far bear together."""
        return round(self.price - self.left, 2)


@dataclass(frozen=True, slots=True)
class CostBasis:
    """By what costs are calculated: how the price is spread, over how many fills, and what a day's work costs."""

    spread: Spread = "straight"
    fills: int = EXPECTED_FILLS
    day_cost: float | None = None
    """Of the work at one barrel on one day [money]; None where it is not counted."""


STRAIGHT = CostBasis()


@dataclass(frozen=True, slots=True)
class BarrelCost:
    """What a barrel has cost, in all and by the litre-month; None is unknown.

    `lost_l` evaporated or soaked in, `lost` is what that had cost; `work` is not counted in `per_l_month` where no
    cost of a day is set.
    """

    price: PriceSpread | None
    lost_l: float
    lost: float | None
    days_worked: int
    work: float | None
    litre_months: float

    @property
    def wood_per_l_month(self) -> float | None:
        """The price borne so far, by the litre-month."""
        return self._per(None if self.price is None else self.price.used)

    @property
    def lost_per_l_month(self) -> float | None:
        """What wood and air took, by the litre-month."""
        return self._per(self.lost)

    @property
    def work_per_l_month(self) -> float | None:
        """The work, by the litre-month."""
        return self._per(self.work)

    @property
    def per_l_month(self) -> float | None:
        """All of it by the litre-month; None where the price or the cost of what was lost is unknown."""
        if self.price is None or self.lost is None:
            return None
        return self._per(self.price.used + self.lost + (self.work or 0.0))

    def _per(self, cost: float | None) -> float | None:
        return None if cost is None or self.litre_months <= 0 else cost / self.litre_months

    @property
    def not_known(self) -> tuple[str, ...]:
        """The names of what is unknown of it."""
        missing = ((self.price, "the price"), (self.lost, "the cost of a lot that it lost of"))
        return tuple(words for each, words in missing if each is None)


def cost_of_barrel(
    price: float | None, before: int | None, history: BarrelHistory, now: float, basis: CostBasis = STRAIGHT
) -> BarrelCost:
    """Return what a barrel has cost by now [seconds since 1970]: its price, what it lost, the work at it.

    `before` are the fills before it came; None is unknown, and then its price is spread straight.
    """
    days = [fill.days(now) for fill in history.fills]
    lost = history.lost
    return BarrelCost(
        None if price is None else spread_price(price, before, days, basis),
        lost.ml / 1000,
        None if lost.unpriced_ml else lost.cost,
        history.days_worked,
        None if basis.day_cost is None else basis.day_cost * history.days_worked,
        history.litre_days / MONTH_DAYS,
    )


def spread_price(price: float, before: int | None, days: Sequence[float], basis: CostBasis = STRAIGHT) -> PriceSpread:
    """Spread a price over fills of so many days each; charges and what is left sum to the price to the cent.

    A short fill bears its share of a usual one. By effect, a fill bears what it used of the effect that the barrel had
    when it came.
    """
    parts = [min(1.0, each / USUAL_FILL_DAYS) for each in days]
    spread: Spread = "straight"
    gone = [min(1.0, sum(parts[: place + 1]) / basis.fills) for place in range(len(parts))]
    if basis.spread == "effect" and before is not None and (had := float(wood_left(before).percent)) > 0:
        spread = "effect"
        gone = [1.0 - float(wood_left(before + sum(parts[: i + 1])).percent) / had for i in range(len(parts))]
    cents = round(price * 100)
    books = [cents, *(round(cents * (1.0 - each)) for each in gone)]
    charges = tuple((earlier - later) / 100 for earlier, later in pairwise(books))
    return PriceSpread(cents / 100, charges, books[-1] / 100, spread)
