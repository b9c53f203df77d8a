"""Prices of the cellar: substances, what goes on a bottle, an hour of work, each with the day it holds from.

Rows are only added. Of an item the price in force at a moment is the one with the latest day that is not after it, and
of one day the one written last. An unknown price is None, which is not zero; water alone costs nothing unless it has a
price.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType

from sqlalchemy import Connection, insert, select

from cooperage.book.declared.allowed import LONGEST_CODE, check_text
from cooperage.book.declared.substances import SUBSTANCES, canonical_substance
from cooperage.book.store.registry import MOST_MONEY
from cooperage.book.store.tables import PRICE
from cooperage.errors import BadInput, choose_from
from cooperage.units import Quantity

BOTTLE, CLOSURE, LABEL, HOUR = "bottle", "closure", "label", "hour"
PACKAGING = (BOTTLE, CLOSURE, LABEL)
"""What every bottle has one of."""


@dataclass(frozen=True, slots=True)
class PricedItem:
    """One thing that has a price: its name, by what the price is, how many of its unit in the book that is.

    A substance is in the book in grams or millilitres; its price is by the kilogram or the litre, which has `parts`.
    `of_act` is the kind of entry whose work it is, each time; until it has a price, that work is not counted by itself.
    A price above `usual_most` is asked back: common practice, no source.
    """

    name: str
    label: str
    per: str
    parts: int = 1
    by_size: bool = False
    of_act: str = ""
    usual_most: float = 1000.0

    @property
    def by_volume(self) -> bool:
        """True if its price is by volume, which people give by their own unit."""
        return self.per == "L"


def _of_substances() -> dict[str, PricedItem]:
    is_mass = {name: each.quantity is Quantity.MASS for name, each in SUBSTANCES.items()}
    return {
        name: PricedItem(
            name, each.label, "kg" if is_mass[name] else "L", 1000, usual_most=100.0 if name == "honey" else 1000.0
        )
        for name, each in SUBSTANCES.items()
    }


ITEMS: Mapping[str, PricedItem] = MappingProxyType(
    {
        BOTTLE: PricedItem(BOTTLE, "empty bottle", "bottle", by_size=True, usual_most=20.0),
        CLOSURE: PricedItem(CLOSURE, "closure: cork, cap, capsule", "bottle", by_size=True, usual_most=20.0),
        LABEL: PricedItem(LABEL, "labels of a bottle", "bottle", by_size=True, usual_most=20.0),
        HOUR: PricedItem(HOUR, "work", "hour"),
        **{
            name: PricedItem(name, f"work of {what}, each time", "time", of_act=kind, usual_most=5000.0)
            for name, kind, what in (
                ("racking", "rack", "racking a vessel"),
                ("filling", "fill", "filling a barrel"),
                ("topping", "top", "topping a vessel"),
                ("blending", "blend", "pouring a blend"),
                ("bottling", "bottle", "a bottling"),
            )
        },
        **_of_substances(),
    }
)
"""Everything that has a price, by name."""
WORK_OF: Mapping[str, str] = MappingProxyType({each.of_act: name for name, each in ITEMS.items() if each.of_act})
"""The item that an act's work is, by the kind of entry."""
FREE = frozenset({"water"})
"""What costs nothing as long as it has no price."""


class NoSuchPrice(BadInput):
    """A name that nothing with a price has."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"'{name}' is nothing that has a price{choose_from(name, ITEMS)}; a cork, a cap or a stopper is a closure"
        )


class NoPriceSize(BadInput):
    """A size of bottle that a price cannot be for, or is wanted and missing."""


@dataclass(frozen=True, slots=True)
class Price:
    """A price by the item's unit, from a moment on; without an amount it is unknown from then on.

    `bottle_ml` is the size of bottle it is for, None for any. The currency is the cellar's when it was written.
    """

    id: str
    item: str
    bottle_ml: int | None
    amount: float | None
    currency: str
    holds_from: datetime
    hand: str
    written_at: datetime

    @property
    def what(self) -> tuple[str, int | None]:
        """The item and the size of bottle."""
        return self.item, self.bottle_ml


def item_named(name: str) -> PricedItem:
    """Find what has a price by its name, a substance by any of its names; raises NoSuchPrice."""
    typed = " ".join(name.split()).casefold()
    found = ITEMS.get(typed) or ITEMS.get(canonical_substance(name))
    if found is None:
        raise NoSuchPrice(name)
    return found


def check_price(price: Price) -> Price:
    """Return a price as it is kept; raises NoSuchPrice, NoPriceSize, BadInput."""
    item = item_named(price.item)
    if price.bottle_ml is not None and not item.by_size:
        raise NoPriceSize(f"{item.name} has one price for all bottles; leave out the size")
    if price.bottle_ml is not None and not 0 < price.bottle_ml <= 100_000:
        raise NoPriceSize("a bottle holds up to 100 litres; correct its size")
    if item.name == BOTTLE and price.bottle_ml is None:
        raise NoPriceSize("an empty bottle has a price by its size; give the size of the bottle")
    if price.amount is not None and not 0 <= price.amount <= MOST_MONEY:
        raise BadInput("a price is a number from 0 on; correct it")
    check_text(price.hand, "the name", LONGEST_CODE)
    return replace(price, item=item.name)


def prices_in(connection: Connection) -> list[Price]:
    """List every price that was ever written, in the order of the days they hold from."""
    rows = connection.execute(select(PRICE).order_by(PRICE.c.holds_from, PRICE.c.written_at, PRICE.c.id))
    return [Price(*row) for row in rows]


def insert_price(connection: Connection, price: Price) -> Price:
    """Write a price in a transaction of the caller's; raises what `check_price` does."""
    price = check_price(price)
    connection.execute(insert(PRICE), asdict(price))
    return price


class PriceList:
    """The prices of a cellar, asked at any moment, in one currency."""

    def __init__(self, every: Iterable[Price], currency: str = "") -> None:
        self.currency = currency
        self._by_what: dict[tuple[str, int | None], list[Price]] = {}
        for price in every:
            self._by_what.setdefault(price.what, []).append(price)
        self._from = {what: [each.holds_from.timestamp() for each in rows] for what, rows in self._by_what.items()}

    def in_force(self, item: str, at: float, bottle_ml: int | None = None) -> Price | None:
        """Return the price in force at a moment [seconds since 1970]: of that size of bottle, else of any."""
        for what in dict.fromkeys(((item, bottle_ml), (item, None))):
            place = bisect_right(self._from.get(what, ()), at)
            if place:
                return self._by_what[what][place - 1]
        return None

    def rate(self, item: str, at: float, bottle_ml: int | None = None) -> Fraction | None:
        """Return what one of the item's units in the book costs then [currency], exactly as typed; None is unknown.

        A price that was written in another currency is unknown.
        """
        price = self.in_force(item, at, bottle_ml)
        if price is None:
            return Fraction(0) if item in FREE else None
        if price.amount is None or (price.currency and price.currency != self.currency):
            return None
        return Fraction(repr(price.amount)) / ITEMS[item].parts
