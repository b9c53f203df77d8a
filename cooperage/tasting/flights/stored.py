"""Flights that are scored, read from the book.

A difference test is a flight of another kind: its glasses are answered, not scored. It is never among these, so no
reader of scores meets one; `tasting.difference` reads it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Protocol, TypeVar

from sqlalchemy import Connection, select

from cooperage.book import Book
from cooperage.book.declared.verdicts import Judgement
from cooperage.book.store.tables import (
    DEPARTED,
    DIFFERENCE,
    FLIGHT,
    GLASS,
    MARK,
    PEEK,
    SCORE,
    SCORED,
    SERVING,
    TERM,
    VESSEL,
)
from cooperage.tasting.flights.errors import NoSuchFlight, NothingScored
from cooperage.tasting.flights.shape import Attribute, Flight, Glass, Peek, Score


class _Coded(Protocol):
    @property
    def code(self) -> str: ...


Coded = TypeVar("Coded", bound=_Coded)


def coded(there: Iterable[Coded], code: str) -> Coded | None:
    """Return the one of several flights, tests or trials that has a code, in any case; None where none has."""
    wanted = code.strip().casefold()
    return next((each for each in there if each.code.casefold() == wanted), None)


def flights(book: Book) -> list[Flight]:
    """List every flight that is scored, newest first, with its glasses and scores."""
    with book.reading() as connection:
        return flights_in(connection)


def flight(book: Book, code: str) -> Flight:
    """Find one flight by its code, in any case; raises NoSuchFlight, NothingScored for a difference test."""
    with book.reading() as connection:
        return find_flight(connection, code)


def find_flight(connection: Connection, code: str) -> Flight:
    """Find one flight by its code, in any case, in a transaction of the caller's; raises as `flight`."""
    there = flights_in(connection)
    if (found := coded(there, code)) is not None:
        return found
    tests = select(FLIGHT.c.code, DIFFERENCE.c.test).join(DIFFERENCE, DIFFERENCE.c.flight_id == FLIGHT.c.id)
    if (test := coded(connection.execute(tests), code)) is not None:
        raise NothingScored(test.code, test.test)
    raise NoSuchFlight(code, [each.code for each in there])


def flights_in(connection: Connection) -> list[Flight]:
    """List every flight that is scored, newest first, in a transaction of the caller's."""
    found = {
        row.id: Flight(
            row.id, row.code, row.name, row.scale, row.poured_at, row.revealed_at, revealed_by=row.revealed_by or ""
        )
        for row in connection.execute(
            select(FLIGHT)
            .where(FLIGHT.c.id.not_in(select(DIFFERENCE.c.flight_id)))
            .order_by(FLIGHT.c.poured_at.desc(), FLIGHT.c.id.desc())
        )
    }
    _add_attributes(connection, found)
    for row in connection.execute(select(SERVING).order_by(SERVING.c.place, SERVING.c.taster)):
        poured = found[row.flight_id]
        poured.orders[row.taster] = list(row.glasses)
        if row.drawn_at == poured.poured_at:  # drawn in the transaction that poured it
            poured.named.append(row.taster)
    for row in connection.execute(select(PEEK).order_by(PEEK.c.at, PEEK.c.id)):
        if row.flight_id in found:
            found[row.flight_id].peeks.append(Peek(row.hand, row.at))
    for row in connection.execute(select(DEPARTED).order_by(DEPARTED.c.at)):
        if row.flight_id in found:
            found[row.flight_id].departed[row.taster] = row.at
    _add_scores(connection, _add_glasses(connection, found))
    return list(found.values())


def _add_attributes(connection: Connection, found: Mapping[str, Flight]) -> None:
    query = select(SCORED, TERM.c.name, TERM.c.family, TERM.c.part).join(TERM, TERM.c.id == SCORED.c.term_id)
    for row in connection.execute(query.order_by(SCORED.c.flight_id, SCORED.c.place)):
        attribute = Attribute(row.term_id, row.name, row.scale, row.family, row.part)
        found[row.flight_id].attributes.append(attribute)


def _add_glasses(connection: Connection, found: Mapping[str, Flight]) -> dict[str, tuple[Flight, str]]:
    """Add the glasses; return the flight and the code of each by its id."""
    owner: dict[str, tuple[Flight, str]] = {}
    glasses = select(GLASS, VESSEL.c.tag).outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)
    for row in connection.execute(glasses.order_by(GLASS.c.flight_id, GLASS.c.position)):
        if row.flight_id not in found:
            continue
        glass = Glass(row.id, row.code, row.position, row.tag, row.what, row.role)
        found[row.flight_id].glasses.append(glass)
        owner[row.id] = found[row.flight_id], row.code
    return owner


def _add_scores(connection: Connection, owner: Mapping[str, tuple[Flight, str]]) -> None:
    marks: dict[tuple[str, str], dict[str, float]] = defaultdict(dict)
    for row in connection.execute(select(MARK)):
        marks[row.glass_id, row.taster][row.term_id] = row.value
    for row in connection.execute(select(SCORE)):
        poured, code = owner[row.glass_id]
        given = marks.get((row.glass_id, row.taster), {})
        by_name = {each.name: given[each.id] for each in poured.attributes if each.id in given}
        verdict = Judgement(row.verdict, row.weeks) if row.verdict else None
        poured.scores[code, row.taster] = Score(row.value, row.words, by_name, verdict)
