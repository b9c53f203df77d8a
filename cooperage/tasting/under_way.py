"""Flights that are under way, without what tasting them needs."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from cooperage.book.store.tables import FLIGHT, GLASS, VESSEL


@dataclass(frozen=True, slots=True)
class OpenFlight:
    """A flight whose codes have not been lifted."""

    code: str
    name: str
    poured_at: datetime


def flights_under_way(connection: Connection) -> list[OpenFlight]:
    """List the flights that were poured and not revealed, newest first."""
    found = connection.execute(
        select(FLIGHT.c.code, FLIGHT.c.name, FLIGHT.c.poured_at)
        .where(FLIGHT.c.revealed_at.is_(None))
        .order_by(FLIGHT.c.poured_at.desc(), FLIGHT.c.id.desc())
    )
    return [OpenFlight(row.code, row.name, row.poured_at) for row in found]


def vessels_under_way(connection: Connection) -> set[str]:
    """Return the tags of vessels that stand in flights which were poured and not revealed."""
    there = (
        select(VESSEL.c.tag)
        .join(GLASS, GLASS.c.vessel_id == VESSEL.c.id)
        .join(FLIGHT, FLIGHT.c.id == GLASS.c.flight_id)
    )
    return set(connection.execute(there.where(FLIGHT.c.revealed_at.is_(None))).scalars())
