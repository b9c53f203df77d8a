"""Rows of `servings.csv` and `peeks.csv`: each taster's order of glasses, who looked codes up, both ways."""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, insert, select

from cooperage.book import Writing
from cooperage.book.store.tables import FLIGHT, PEEK, SERVING
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import PEEKS, SERVINGS
from cooperage.exchange.tables.sheets import Row
from cooperage.exchange.tastings.flights_and_scores import Tastings
from cooperage.tasting.kept import check_taster


class ServingsAndPeeks:
    """The orders of serving and the peeks of the book and those of the files, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock, tastings: Tastings) -> None:
        self._session, self._clock, self._tastings = session, clock, tastings
        connection = session.connection
        self._servings = {(row.flight_id, row.taster): list(row.glasses) for row in connection.execute(select(SERVING))}
        self._peeks = set(connection.execute(select(PEEK.c.id)).scalars())

    def add_serving(self, row: Row) -> bool:
        """Write the order of a taster; return whether it was new. Raises BadCell, AlreadyRevealed."""
        values = row.values(SERVINGS, self._clock)
        flight = self._tastings.flight_of(row, values)
        codes, key = values["glasses"].split(), (flight["id"], values["taster"])
        if self._tastings.test_of(flight) is not None:
            raise row.bad(f"{flight['code']} is a difference test, whose glasses stand in sets; leave it out", "flight")
        if sorted(codes) != sorted(self._tastings.codes_of(flight)):
            raise row.bad("is not each glass of the flight once; correct it, or leave the line out", "glasses")
        if key in self._servings:
            if self._servings[key] != codes:
                raise row.bad("has another order in the book, which stands; leave the line out", "taster")
            return False
        self._tastings.refuse_if_revealed(flight)
        check_taster(values["taster"])
        drawn_at = values.get("drawn_at") or flight["poured_at"]
        serving = {"flight_id": key[0], "taster": key[1], "place": values["place"]}
        self._session.connection.execute(insert(SERVING), serving | {"glasses": codes, "drawn_at": drawn_at})
        self._servings[key] = codes
        return True

    def add_peek(self, row: Row) -> bool:
        """Write that a flight was looked up; return whether it was new. Raises BadCell, AlreadyRevealed."""
        values = row.values(PEEKS, self._clock)
        flight = self._tastings.flight_of(row, values)
        if values.get("id") in self._peeks:
            return False
        self._tastings.refuse_if_revealed(flight)
        peek = {"id": values.get("id") or self._session.new_id(), "flight_id": flight["id"]}
        self._session.connection.execute(insert(PEEK), peek | {"hand": values.get("hand", ""), "at": values["at"]})
        self._peeks.add(peek["id"])
        return True


def show_servings(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every taster's order, by column name."""
    query = select(SERVING, FLIGHT.c.code.label("flight")).join(FLIGHT, FLIGHT.c.id == SERVING.c.flight_id)
    ordered = query.order_by(FLIGHT.c.poured_at, FLIGHT.c.id, SERVING.c.place, SERVING.c.taster)
    for row in connection.execute(ordered).mappings():
        values: dict[str, Any] = dict(row) | {"glasses": " ".join(row["glasses"])}
        yield {column.name: show_cell(column, values[column.fills]) for column in SERVINGS}


def show_peeks(connection: Connection) -> Iterator[dict[str, str]]:
    """Yield the cells of every peek, by column name."""
    query = select(PEEK, FLIGHT.c.code.label("flight")).join(FLIGHT, FLIGHT.c.id == PEEK.c.flight_id)
    for row in connection.execute(query.order_by(PEEK.c.at, PEEK.c.id)).mappings():
        yield {column.name: show_cell(column, row[column.fills]) for column in PEEKS}
