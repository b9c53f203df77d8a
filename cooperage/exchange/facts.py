"""Rows of `facts.csv` and `prices.csv`, both ways: the facts of the cellar, and every price that was ever written."""

from collections.abc import Iterator
from dataclasses import asdict

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.book.facts import FACTS, facts_of, read_fact, set_fact, show_fact, write_fact
from cooperage.book.prices import Price, check_price, insert_price, prices_in
from cooperage.errors import BadInput, Refused
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import FACTS_OF_CELLAR, PRICES
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.money.pricing import ask_of_price
from cooperage.units import MINOR_UNITS


class FactDiffers(Refused):
    """A fact that the cellar has given already, and otherwise."""

    def __init__(self, key: str, there: str) -> None:
        self.key, self.there = key, there
        super().__init__(f"the cellar's {key} is {there} already; change it with `cooperage cellar`, or leave this out")


def add_fact(connection: Connection, row: Row, clock: Clock) -> bool:
    """Give the cellar the fact of a row; return whether it was new. Raises BadCell, FactDiffers."""
    values = row.values(FACTS_OF_CELLAR, clock)
    fact = FACTS[values["key"]]
    value, there = read_fact(fact, values["value"]), facts_of(connection)
    if fact.key in there.given:
        if there.values[fact.key] != value:
            raise FactDiffers(fact.key, show_fact(fact, there.values[fact.key]))
        return False
    set_fact(connection, fact, value)
    return True


def show_facts(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every fact that the cellar has given, by column name."""
    facts = facts_of(connection)
    for fact in FACTS.values():
        if fact.key in facts.given:
            yield {"fact": fact.key, "value": write_fact(fact, facts.values[fact.key])}


class Prices:
    """The prices in the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {each.id: each for each in prices_in(session.connection)}

    def add(self, row: Row) -> bool:
        """Write a price; return whether it was new. Raises BadCell, BadInput, AlreadyThere, Implausible."""
        made, sure = self._read(row)
        there = self._there.get(made.id)
        if there is not None:
            if there != made:
                raise AlreadyThere("price", made.item)
            return False
        if not sure:
            ask_of_price(made, list(self._there.values()))
        insert_price(self._session.connection, made)
        self._there[made.id] = made
        return True

    def _read(self, row: Row) -> tuple[Price, bool]:
        """Return the price of a row, and whether its question is answered."""
        values = row.values(PRICES, self._clock)
        currency = values.get("currency", "").upper()
        if currency and currency not in MINOR_UNITS:
            raise BadInput(f"'{currency}' is no currency; give its ISO 4217 code, such as EUR")
        price = check_price(
            Price(
                values.get("id") or self._session.new_id(),
                values["item"],
                values.get("bottle_ml"),
                values.get("amount"),
                currency,
                values["holds_from"],
                values.get("hand", ""),
                values.get("written_at") or self._session.now,
            )
        )
        return price, bool(values.get("sure"))


def show_prices(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every price, in the order of the days they hold from; `sure` is yes, as of entries."""
    for each in prices_in(connection):
        values = asdict(each) | {"sure": True}
        yield {column.name: show_cell(column, values[column.fills]) for column in PRICES}
