"""Prices of the cellar as they are typed and listed: written with the day they hold from, the newest ones in force."""

from dataclasses import replace
from datetime import datetime

from cooperage.book import Book
from cooperage.book.facts import facts_of
from cooperage.book.prices import ITEMS, Price, check_price, insert_price, item_named, prices_in
from cooperage.units import DEFAULT, Quantity, Units, midnight, read, read_day, read_volume, volume_unit

UNKNOWN = "unknown"
"""What is typed for a price that is not known from a day on."""


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
    book: Book, item: str, amount: str, *, size: str = "", since: str = "", hand: str = "", units: Units = DEFAULT
) -> Price:
    """Write a price from texts; raises what `parse_price` does."""
    return write_price(book, parse_price(book, item, amount, size=size, since=since, hand=hand, units=units))


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


def write_price(book: Book, price: Price) -> Price:
    """Write a price as it stands, with an id and the moment of writing, in the cellar's own currency."""
    with book.writing() as session:
        currency = facts_of(session.connection).currency
        made = replace(price, id=session.new_id(), currency=currency, written_at=session.now)
        return insert_price(session.connection, made)
