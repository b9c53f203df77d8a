"""Prices of the cellar as they are typed and listed: written with the day they hold from, the newest ones in force."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from cooperage.book import Book
from cooperage.book.facts import facts_of
from cooperage.book.prices import ITEMS, Price, check_price, insert_price, item_named, prices_in
from cooperage.book.writing.doubts import ask_of_money
from cooperage.units import DEFAULT, Quantity, Units, midnight, read, read_day, read_volume, volume_unit

UNKNOWN = "unknown"
"""What is typed for a price that is not known from a day on."""
_PER = {"L": "litre"}


def every_price(book: Book) -> list[Price]:
    """List every price that was ever written, in the order of the days they hold from."""
    with book.reading() as connection:
        return prices_in(connection)


def prices_in_force(every: list[Price], at: datetime) -> list[Price]:
    """Return the price in force of each item and size of bottle at a moment, in the order items are declared."""
    latest = {each.what: each for each in every if each.holds_from <= at}
    names = list(ITEMS)
    return sorted(latest.values(), key=lambda each: (names.index(each.item), each.bottle_ml or 0))


def set_price(
    book: Book,
    item: str,
    amount: str,
    *,
    size: str = "",
    since: str = "",
    hand: str = "",
    units: Units = DEFAULT,
    sure: bool = False,
) -> Price:
    """Write a price from texts; raises what `parse_price` and `write_price` do."""
    return write_price(book, parse_price(book, item, amount, size=size, since=since, hand=hand, units=units), sure=sure)


def parse_price(
    book: Book, item: str, amount: str, *, size: str = "", since: str = "", hand: str = "", units: Units = DEFAULT
) -> Price:
    """Return a price from texts: by the item's unit (the person's own of volume), of bottles of a size, from a day on.

    It holds from the beginning of the day, by default today. Raises NoSuchPrice, NoPriceSize, NotAQuantity, NotADay.
    """
    named, now = item_named(item), book.now()
    sum_ = None if amount.strip().casefold() == UNKNOWN else float(read(Quantity.MONEY, amount, units))
    if sum_ is not None and named.by_volume:
        sum_ /= volume_unit(units)[1]
    bottle_ml = read_volume(size, units) if size else None
    day = midnight(read_day(since or "today", now))
    return check_price(Price("", named.name, bottle_ml, sum_, units.currency, day, hand, now))


def write_price(book: Book, price: Price, *, sure: bool = False) -> Price:
    """Write a price as it stands, with an id and the moment of writing, in the cellar's own currency.

    Unless `sure`, a price above what is usual is asked back (Implausible).
    """
    with book.writing() as session:
        if not sure:
            ask_of_price(price, prices_in(session.connection))
        currency = facts_of(session.connection).currency
        made = replace(price, id=session.new_id(), currency=currency, written_at=session.now)
        return insert_price(session.connection, made)


def ask_of_price(price: Price, every: Sequence[Price]) -> None:
    """Ask back a price above what is usual of its kind and far above the one of the same item and size before it."""
    if price.amount is None:
        return
    item = ITEMS[price.item]
    before = [each.amount for each in every if each.what == price.what and each.amount is not None]
    size = f" of {price.bottle_ml} mL" if price.bottle_ml is not None else ""
    ask_of_money(
        f"{item.label}{size}", price.amount, _PER.get(item.per, item.per), item.usual_most, max(before, default=None)
    )
