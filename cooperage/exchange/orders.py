"""Rows of `orders.csv` and the orders they are, both ways."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import ORDERS
from cooperage.exchange.tables.sheets import Row
from cooperage.programme.orders.kept import as_row, insert_order, kept_orders, next_number
from cooperage.programme.orders.order import Order, OrderState

_LISTS = {"texts": "fields", "each": "of_each"}


class Orders:
    """The orders in the book and those of the file, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._there = {order.id: order for order in kept_orders(session.connection)}

    def add(self, row: Row) -> bool:
        """Write an order; return whether it was new. One whose number another bears is given the next.

        Raises BadCell, AlreadyThere.
        """
        order = self._read(row)
        there = self._there.get(order.id)
        if there is not None:
            if replace(there, number=order.number, place=order.place) != order:
                raise AlreadyThere("order", str(there.number))
            return False
        if any(other.number == order.number for other in self._there.values()):
            order = replace(order, number=next_number(self._session.connection))
        insert_order(self._session, order)
        self._there[order.id] = order
        return True

    def _read(self, row: Row) -> Order:
        values = row.values(ORDERS, self._clock)
        for name, column in _LISTS.items():
            values[name] = _read_texts(row, column, values.get(name, "{}"), of_each=name == "each")
        values |= {
            "id": values.get("id") or self._session.new_id(),
            "entries": tuple(values.get("entries", "").split()),
        }
        values["state"] = OrderState(values.get("state", "open"))
        if (values["state"] is OrderState.OPEN) != (values.get("closed_at") is None):
            raise row.bad("an order is closed when it was done or withdrawn; correct one of the two", "closed")
        return Order(**{"note": "", "hand": "", "place": values["number"]} | values)


def _read_texts(row: Row, column: str, text: str, *, of_each: bool) -> dict[str, Any]:
    """Return the texts of a cell, by field, or by tag and field. Raises BadCell."""
    try:
        found = json.loads(text)
    except ValueError as error:
        raise row.bad("is not as an export writes it; leave this column as it was", column) from error
    if not _are_texts(found, of_each=of_each):
        raise row.bad("is not as an export writes it; leave this column as it was", column)
    texts: dict[str, Any] = found
    return texts


def _are_texts(found: object, *, of_each: bool) -> bool:
    if not isinstance(found, dict):
        return False
    if of_each:
        return all(_are_texts(own, of_each=False) for own in found.values())
    return all(isinstance(text, str) for text in found.values())


def show_orders(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every order, in the sequence in which they are to be done."""
    for order in kept_orders(connection):
        values = as_row(order)
        values |= {name: json.dumps(values[name], ensure_ascii=False) for name in _LISTS}
        values["entries"] = " ".join(order.entries)
        yield {column.name: show_cell(column, values[column.fills]) for column in ORDERS}
