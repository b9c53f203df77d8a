"""What a barrel costs for each litre and month: its price over its fills, what it loses, the work it asks.

What is unknown is unknown, never nothing. Sums are in the currency of the cellar.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

from cooperage.book.facts import FACTS
from cooperage.liquid.wood import wood_left
from cooperage.programme.wood.history import BarrelHistory

MONTH_DAYS = 365.25 / 12
USUAL_FILL_DAYS = 365.25
"""How long a fill usually lasts (common practice, no source): the open fill bears its price by the share of this."""
EXPECTED_FILLS = int(FACTS["barrel_fills"].default)
"""Fills that a barrel is bought for: as wood it lasts two or three, as a vessel five to ten (common practice)."""

Spread: TypeAlias = Literal["straight", "effect"]
"""How a price is spread over fills: in equal parts, or by the wood effect that each fill uses up."""


@dataclass(frozen=True, slots=True)
class PriceSpread:
    """A price over the fills so far, to the cent (the last decimal): what each bears, and what is left in the books.

    `spread` is how it was done: by effect only where the barrel had some when it came.
    """

    price: float
    charges: tuple[float, ...]
    left: float
    spread: Spread

    @property
    def used(self) -> float:
        """What the fills so far bear together."""
        return round(self.price - self.left, 9)


@dataclass(frozen=True, slots=True)
class CostBasis:
    """By what costs are calculated: how the price is spread, over how many fills, and what a day's work costs.

    `decimals` are those of the sums, by the currency.
    """

    spread: Spread = "straight"
    fills: int = EXPECTED_FILLS
    day_cost: float | None = None
    """Of the work at one barrel on one day [money]; None where it is not counted."""
    decimals: int = 2


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
    parts, spread = [part_of_fill(each) for each in days], spread_of(before, basis)
    cents = in_minor_units(price, basis.decimals)
    books = [cents, *(left_in_books(cents, before, sum(parts[: i + 1]), basis) for i in range(len(parts)))]
    one = 10**basis.decimals
    charges = tuple((earlier - later) / one for earlier, later in pairwise(books))
    return PriceSpread(cents / one, charges, books[-1] / one, spread)


def in_minor_units(sum_: float, decimals: int = 2) -> int:
    """Return a sum in whole cents, or what the last of so many decimals is."""
    return round(sum_ * float(10**decimals))


def part_of_fill(days: float) -> float:
    """Return how much of a usual fill so many days are, one at most."""
    return min(1.0, days / USUAL_FILL_DAYS)


def spread_of(before: int | None, basis: CostBasis) -> Spread:
    """Return how a barrel's price is spread: by effect only where it is asked for, and the barrel had some."""
    has_effect = basis.spread == "effect" and before is not None and float(wood_left(before).percent) > 0
    return "effect" if has_effect else "straight"


def left_in_books(cents: int, before: int | None, used: float, basis: CostBasis) -> int:
    """Return what of a price [cents] is left once so many fills are `used`, of which parts count as such."""
    if before is not None and spread_of(before, basis) == "effect":
        left = float(wood_left(before + used).percent) / float(wood_left(before).percent)
        return round(cents * left)
    return round(cents * (1.0 - min(1.0, used / basis.fills)))
