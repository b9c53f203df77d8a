"""Rows of `flights.csv` and `scores.csv`, and the tastings they are, both ways."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, insert, select, update

from cooperage.book import Writing
from cooperage.book.errors import AlreadyThere
from cooperage.book.store.tables import FLIGHT, GLASS, SCORE, VESSEL
from cooperage.exchange.sealing import BrokenSeal, seal, unseal
from cooperage.exchange.tables.cells import Clock, show_cell
from cooperage.exchange.tables.columns import FLIGHTS, SCORES
from cooperage.exchange.tables.sheets import Row
from cooperage.tasting.flights import AlreadyRevealed, OffTheScale, bounds
from cooperage.tasting.kept import check_flight, check_glass, check_score

_GLASS = ("position", "vessel_id", "what")
Values = dict[str, Any]


class Tastings:
    """The flights in the book and those of the files, inside one writing transaction."""

    def __init__(self, session: Writing, clock: Clock) -> None:
        self._session, self._clock = session, clock
        connection = session.connection
        flights = connection.execute(select(FLIGHT)).mappings()
        self._flights: dict[str, Values] = {row["code"].upper(): dict(row) for row in flights}
        glasses = connection.execute(select(GLASS)).mappings()
        self._glasses: dict[tuple[str, str], Values] = {(row["flight_id"], row["code"]): dict(row) for row in glasses}
        self._to_reveal: dict[str, Values] = {}
        self._scores = set(map(tuple, connection.execute(select(SCORE.c.glass_id, SCORE.c.taster))))

    def add_flight(self, row: Row) -> bool:
        """Write a flight; return whether it was new. Raises BadCell, AlreadyThere, NotAScale."""
        values = row.values(FLIGHTS, self._clock)
        bounds(values["scale"])
        there = self._flights.get(values["code"].upper())
        if there is not None:
            if any(there[name] != value for name, value in values.items() if name != "revealed_at"):
                raise AlreadyThere("flight", values["code"])
            return False
        new = {"name": "", "revealed_at": None} | values | {"id": self._id(row, values, self._flights.values())}
        check_flight(new["code"], new["name"])
        self._session.connection.execute(insert(FLIGHT), new | {"revealed_at": None})
        self._flights[new["code"].upper()] = self._to_reveal[new["id"]] = new
        return True

    def reveal(self) -> None:
        """Reveal the new flights that were revealed, now that their glasses and scores are there."""
        for flight in self._to_reveal.values():
            if flight["revealed_at"] is not None:
                revealed = update(FLIGHT).where(FLIGHT.c.id == flight["id"])
                self._session.connection.execute(revealed.values(revealed_at=flight["revealed_at"]))

    def _refuse_if_revealed(self, flight: Values) -> None:
        if flight["revealed_at"] is not None and flight["id"] not in self._to_reveal:
            raise AlreadyRevealed(flight["code"])

    def add_score(self, row: Row) -> bool:
        """Write a glass, and what a taster gave it; return whether any was new.

        Raises BadCell, OffTheScale, AlreadyRevealed.
        """
        try:
            row = replace(row, cells=unseal(row.cells))
        except BrokenSeal as error:
            raise row.placed(error, "sealed") from error
        values = row.values(SCORES, self._clock)
        flight = self._flights.get(values["flight"].upper())
        if flight is None:
            known = ", ".join(flight["code"] for flight in self._flights.values()) or "none yet"
            raise row.bad(f"there is no flight '{values['flight']}'; the flights are {known}", "flight")
        glass, is_new = self._glass(row, values, flight)
        if "taster" not in values:
            if "score" in values or "words" in values:
                raise row.bad("is blank; name who gave the score", "taster")
            return is_new
        return self._score(row, values, flight, glass) or is_new

    def _glass(self, row: Row, values: Values, flight: Values) -> tuple[Values, bool]:
        """Return the glass of a row and whether it is new; all rows of a glass must agree."""
        vessel_id = self._session.registry.vessel(values["vessel"]).id if "vessel" in values else None
        key = flight["id"], values["glass"]
        there = self._glasses.get(key)
        wanted = {"position": values.get("position"), "vessel_id": vessel_id, "what": values.get("what", "")}
        if there is not None:
            if any(wanted[name] != there[name] for name in _GLASS if wanted[name]):
                raise row.bad(f"glass {values['glass']} held something else in an earlier line; give it one", "vessel")
            return there, False
        self._refuse_if_revealed(flight)
        if wanted["position"] is None:
            wanted["position"] = 1 + sum(glass["flight_id"] == flight["id"] for glass in self._glasses.values())
        glass = {
            "id": self._id(row, values, self._glasses.values()),
            "flight_id": flight["id"],
            "code": values["glass"],
        }
        check_glass(glass["code"], str(wanted["what"]))
        self._session.connection.execute(insert(GLASS), glass | wanted)
        self._glasses[key] = glass | wanted
        return self._glasses[key], True

    def _id(self, row: Row, values: Values, there: Iterable[Values]) -> str:
        """Return the id of a row, or a new one; it must not be another's."""
        if "id" in values and any(each["id"] == values["id"] for each in there):
            raise row.bad(f"'{values['id'][:20]}' is the id of another; leave the cell blank", "id")
        return values.get("id") or self._session.new_id()

    def _score(self, row: Row, values: Values, flight: Values, glass: Values) -> bool:
        value = values.get("score")
        low, high = bounds(flight["scale"])
        if value is not None and not low <= value <= high:
            raise row.placed(OffTheScale(value, flight["scale"]), "score")
        key = glass["id"], values["taster"]
        if key in self._scores:
            return False
        self._refuse_if_revealed(flight)
        written_at = values.get("written") or flight["poured_at"]
        score = {"glass_id": key[0], "taster": key[1], "value": value, "words": values.get("words", "")}
        check_score(score["taster"], score["words"])
        self._session.connection.execute(insert(SCORE), score | {"written_at": written_at})
        self._scores.add(key)
        return True


def show_flights(connection: Connection) -> Iterator[Values]:
    """Yield every flight's cells by column name, in the order they were poured."""
    for row in connection.execute(select(FLIGHT).order_by(FLIGHT.c.poured_at, FLIGHT.c.id)).mappings():
        yield {column.name: show_cell(column, row[column.fills]) for column in FLIGHTS}


def show_scores(connection: Connection) -> Iterator[Values]:
    """Yield a row of cells for every score, and for every glass that has none; sealed while its flight is blind."""
    query = (
        select(
            FLIGHT.c.code.label("flight"),
            GLASS.c.code.label("glass"),
            GLASS.c.position,
            VESSEL.c.tag.label("vessel"),
            GLASS.c.what,
            SCORE.c.taster,
            SCORE.c.value.label("score"),
            SCORE.c.words,
            SCORE.c.written_at.label("written"),
            GLASS.c.id,
            FLIGHT.c.revealed_at,
        )
        .join(FLIGHT, FLIGHT.c.id == GLASS.c.flight_id)
        .outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)
        .outerjoin(SCORE, SCORE.c.glass_id == GLASS.c.id)
        .order_by(FLIGHT.c.poured_at, FLIGHT.c.id, GLASS.c.position, GLASS.c.code, SCORE.c.taster)
    )
    columns = [column for column in SCORES if column.name != "sealed"]
    for row in connection.execute(query).mappings():
        cells = {column.name: show_cell(column, row[column.fills]) for column in columns}
        yield seal(cells) if row["revealed_at"] is None else cells
