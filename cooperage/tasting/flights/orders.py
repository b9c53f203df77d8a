"""In which order each taster meets the glasses: drawn once for a taster and kept, so every door shows the same.

A flight's orders are the rows of one balanced design (`serving_orders`), drawn from the flight's own id and dealt out
in turn: a late taster gets the row that was next, so glasses stand first, second, ... as equally often as may be,
however many come. A reference stands before all others.
"""

from collections.abc import Sequence
from hashlib import sha256

from sqlalchemy import insert

from cooperage.book import Book, Writing
from cooperage.book.store.tables import SERVING
from cooperage.tasting.flights.errors import AlreadyRevealed, NoTasterNamed
from cooperage.tasting.flights.shape import Flight
from cooperage.tasting.flights.stored import find_flight
from cooperage.tasting.kept import check_taster


def orders_for(
    book: Book, flight_code: str, tasters: Sequence[str] = (), *, sure: bool = False
) -> tuple[Flight, list[str]]:
    """Return a flight in which tasters have their orders, and their names; without tasters, all of its panel.

    Raises NoSuchFlight, NoTasterNamed; NotAmongTheTasters, unless `sure`; AlreadyRevealed for one who has no order in a
    flight that is closed.
    """
    with book.writing() as session:
        poured = find_flight(session.connection, flight_code)
        names = list(dict.fromkeys(poured.taster_named(taster) for taster in tasters or poured.panel))
        if not names:
            raise NoTasterNamed(poured.code)
        poured.check_tasters(names, sure=sure)
        for name in names:
            draw_order(session, poured, name)
    return poured, names


def order_for(book: Book, flight_code: str, taster: str) -> list[str]:
    """Return the codes of a flight's glasses as a taster meets them; drawn and kept if the taster has none yet.

    Raises NoSuchFlight; AlreadyRevealed for one who has none in a flight that is closed.
    """
    with book.writing() as session:
        poured = find_flight(session.connection, flight_code)
        return list(draw_order(session, poured, taster))


def draw_order(session: Writing, poured: Flight, taster: str) -> list[str]:
    """Return a taster's order, drawn and kept if there is none, in a transaction of the caller's."""
    name = poured.taster_named(taster)
    if name in poured.orders:
        return poured.orders[name]
    if not poured.is_blind:
        raise AlreadyRevealed(poured.code)
    check_taster(name)
    place = len(poured.orders)
    order = _row_of_design(poured, place)
    row = {"flight_id": poured.id, "taster": name, "place": place, "glasses": order, "drawn_at": session.now}
    session.connection.execute(insert(SERVING), row)
    poured.orders[name] = order
    return order


def _row_of_design(poured: Flight, place: int) -> list[str]:
    """Return the row of a flight's design at a place, from 0: codes, references first."""
    import numpy as np  # only what is drawn needs it

    from cooperage.tasting.codes import serving_orders

    first = [glass.code for glass in poured.glasses if glass.is_reference]
    others = [glass.code for glass in poured.glasses if not glass.is_reference]
    if not others:
        return first
    seed = int.from_bytes(sha256(poured.id.encode()).digest()[:8])
    rows = serving_orders(len(others), place + 1, np.random.default_rng(seed))
    return first + [others[at] for at in rows[place].tolist()]
