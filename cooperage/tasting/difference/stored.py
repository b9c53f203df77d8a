"""Difference tests read from the book."""

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, select

from cooperage.book import Book
from cooperage.book.store.tables import ANSWER, DEPARTED, DIFFERENCE, FLIGHT, GLASS, PEEK, PRESENTED, VESSEL
from cooperage.tasting.difference.question import DifferenceQuestion
from cooperage.tasting.difference.shape import DifferenceFlight, PresentedSet
from cooperage.tasting.flights.errors import NoSuchFlight
from cooperage.tasting.flights.shape import Flight, Glass, Peek
from cooperage.tasting.flights.stored import coded, flights_in

_QUESTION = tuple(DifferenceQuestion.__slots__)


def difference_flights(book: Book) -> list[DifferenceFlight]:
    """List every difference test, newest first, with its sets and answers."""
    with book.reading() as connection:
        return difference_flights_in(connection)


def every_flight(book: Book) -> list[Flight | DifferenceFlight]:
    """List every flight of either kind, newest first."""
    with book.reading() as connection:
        return every_flight_in(connection)


def every_flight_in(connection: Connection) -> list[Flight | DifferenceFlight]:
    """List every flight of either kind, newest first, in a transaction of the caller's."""
    both: Sequence[Flight | DifferenceFlight] = [*flights_in(connection), *difference_flights_in(connection)]
    return sorted(both, key=lambda each: (each.poured_at, each.id), reverse=True)


def any_flight(book: Book, code: str) -> Flight | DifferenceFlight:
    """Find a flight of either kind by its code, in any case; raises NoSuchFlight."""
    with book.reading() as connection:
        return find_any(connection, code)


def find_any(connection: Connection, code: str) -> Flight | DifferenceFlight:
    """Find a flight of either kind by its code, in a transaction of the caller's; raises NoSuchFlight."""
    there = every_flight_in(connection)
    if (found := coded(there, code)) is not None:
        return found
    raise NoSuchFlight(code, [each.code for each in there])


def find_difference(connection: Connection, code: str) -> DifferenceFlight:
    """Find a difference test by its code, in any case, in a transaction of the caller's; raises NoSuchFlight."""
    there = difference_flights_in(connection)
    if (found := coded(there, code)) is not None:
        return found
    raise NoSuchFlight(code, [each.code for each in there])


def difference_flights_in(connection: Connection) -> list[DifferenceFlight]:
    """List every difference test, newest first, in a transaction of the caller's."""
    query = select(FLIGHT, DIFFERENCE).join(DIFFERENCE, DIFFERENCE.c.flight_id == FLIGHT.c.id)
    found = {
        row["id"]: DifferenceFlight(
            row["id"],
            row["code"],
            row["name"],
            DifferenceQuestion(**{name: row[name] for name in _QUESTION}),
            row["poured_at"],
            row["revealed_at"],
            row["revealed_by"] or "",
        )
        for row in connection.execute(query.order_by(FLIGHT.c.poured_at.desc(), FLIGHT.c.id.desc())).mappings()
    }
    if found:
        _add_glasses(connection, found)
        _add_sets(connection, found)
        _add_others(connection, found)
    return list(found.values())


def _add_glasses(connection: Connection, found: Mapping[str, DifferenceFlight]) -> None:
    glasses = select(GLASS, VESSEL.c.tag).outerjoin(VESSEL, VESSEL.c.id == GLASS.c.vessel_id)
    wanted = glasses.join(DIFFERENCE, DIFFERENCE.c.flight_id == GLASS.c.flight_id)
    for row in connection.execute(wanted.order_by(GLASS.c.flight_id, GLASS.c.position)):
        found[row.flight_id].glasses.append(Glass(row.id, row.code, row.position, row.tag, row.what, row.role))


def _add_sets(connection: Connection, found: Mapping[str, DifferenceFlight]) -> None:
    held = {key: {glass.code: glass.role for glass in each.glasses} for key, each in found.items()}
    place = {key: {glass.code: glass.position for glass in each.glasses} for key, each in found.items()}
    query = select(PRESENTED, ANSWER.c.codes, ANSWER.c.written_at).outerjoin(
        ANSWER, ANSWER.c.presented_id == PRESENTED.c.id
    )
    rows = connection.execute(query).all()
    for row in sorted(rows, key=lambda row: min(place[row.flight_id].get(code, 0) for code in row.glasses)):
        order = "".join(held[row.flight_id].get(code, "") for code in row.glasses)
        codes, answer = list(row.glasses), list(row.codes or ())
        each = PresentedSet(row.id, row.taster, row.round, codes, order, row.drawn_at, answer, row.written_at)
        poured = found[row.flight_id]
        poured.sets.append(each)
        if row.drawn_at == poured.poured_at and row.taster not in poured.named:
            poured.named.append(row.taster)


def _add_others(connection: Connection, found: Mapping[str, DifferenceFlight]) -> None:
    for row in connection.execute(select(PEEK).order_by(PEEK.c.at, PEEK.c.id)):
        if row.flight_id in found:
            found[row.flight_id].peeks.append(Peek(row.hand, row.at))
    for row in connection.execute(select(DEPARTED).order_by(DEPARTED.c.at)):
        if row.flight_id in found:
            found[row.flight_id].departed[row.taster] = row.at
