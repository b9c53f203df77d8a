"""Orders in the database: listed in the sequence in which they are to be done, inserted, closed."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from cooperage.book import Book, Writing
from cooperage.book.store.tables import ENTRY, ORDERS
from cooperage.programme.orders.order import NoSuchOrder, NotOpen, Order, OrderState

_IN_SEQUENCE = select(ORDERS).order_by(ORDERS.c.day, ORDERS.c.place, ORDERS.c.number)
_TOP = func.coalesce(func.max(ORDERS.c.number), 0)


def orders(book: Book, states: Collection[OrderState] = tuple(OrderState)) -> list[Order]:
    """List orders in the sequence in which they are to be done: by day, then by place."""
    with book.reading() as connection:
        return orders_in(connection, states)


def open_orders(book: Book) -> list[Order]:
    """List the orders that are still to be done, in their sequence."""
    return orders(book, (OrderState.OPEN,))


def orders_in(connection: Connection, states: Collection[OrderState] = tuple(OrderState)) -> list[Order]:
    """List the orders in a view of the book, in their sequence.

    An order that was done counts as open again once all that was written of it is struck.
    """
    asked = [*states, *([OrderState.DONE] if OrderState.OPEN in states else [])]
    struck = _struck(connection)
    found = [_reopened(order, struck) for order in kept_orders(connection, asked)]
    return [order for order in found if order.state in states]


def kept_orders(connection: Connection, states: Collection[OrderState] = tuple(OrderState)) -> list[Order]:
    """List the orders as they were written and closed, whatever was struck since."""
    query = _IN_SEQUENCE.where(ORDERS.c.state.in_([state.value for state in states]))
    return [_order(row) for row in connection.execute(query).mappings()]


def _struck(connection: Connection) -> set[str]:
    return set(connection.execute(select(ENTRY.c.strikes_id).where(ENTRY.c.strikes_id.is_not(None))).scalars())


def _reopened(order: Order, struck: Collection[str]) -> Order:
    """Return an order as it stands: open again where nothing that was written of it stands any more."""
    is_undone = order.state is OrderState.DONE and bool(order.entries) and all(each in struck for each in order.entries)
    return replace(order, state=OrderState.OPEN) if is_undone else order


def _order(row: Any) -> Order:  # noqa: ANN401 - a row of the table
    kept = dict(row) | {"day": date.fromisoformat(row["day"]), "state": OrderState(row["state"])}
    return Order(**kept | {"entries": tuple(row["entries"])})


def order_numbered(book: Book, number: str) -> Order:
    """Find an order by its number; raises NoSuchOrder."""
    digits = number.strip().removeprefix("#")
    found = [order for order in orders(book) if digits.isdigit() and order.number == int(digits)]
    if not found:
        raise NoSuchOrder(number.strip())
    return found[0]


def struck_since(book: Book, found: Sequence[Order]) -> set[int]:
    """Return the numbers of orders that were done and of which an entry was struck since."""
    with book.reading() as connection:
        struck = _struck(connection)
    return {order.number for order in found if struck & set(order.entries)}


def as_row(order: Order) -> dict[str, Any]:
    """Return an order as the database keeps it."""
    named = {name: getattr(order, name) for name in Order.__slots__}
    texts = {"texts": dict(order.texts), "each": {tag: dict(own) for tag, own in order.each.items()}}
    return named | texts | {"day": order.day.isoformat(), "state": order.state.value, "entries": list(order.entries)}


def next_number(connection: Connection) -> int:
    """Return the number of the next order that is written."""
    return int(connection.execute(select(_TOP)).scalar_one()) + 1


def insert_order(session: Writing, order: Order) -> None:
    """Insert an order as it is."""
    session.connection.execute(insert(ORDERS), as_row(order))


def close(session: Writing, order: Order, state: OrderState, *, entries: Sequence[str] = (), why: str = "") -> None:
    """Close an order in the transaction that belongs to it; raises NotOpen where it was closed meanwhile."""
    [now] = [each for each in orders_in(session.connection) if each.id == order.id]
    as_it_was = update(ORDERS).where(ORDERS.c.id == order.id, ORDERS.c.closed_at.is_not_distinct_from(now.closed_at))
    values: dict[str, str | list[str] | datetime] = {"state": state.value, "entries": list(entries), "why": why}
    is_open = now.state is OrderState.OPEN
    if not is_open or session.connection.execute(as_it_was.values(**values, closed_at=session.now)).rowcount != 1:
        raise NotOpen(order.number, OrderState.DONE if is_open else now.state)


def place_order(session: Writing, order: Order, day: date, place: int) -> None:
    """Give an order another place on a day."""
    at = {"day": day.isoformat(), "place": place}
    session.connection.execute(update(ORDERS).where(ORDERS.c.id == order.id).values(at))
