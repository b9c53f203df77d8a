"""A taster leaves a flight of either kind before the end: it is closed with who is there, and its results show it."""

from cooperage.book import Book
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import find_any
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.leaving import NotOfThePanel, write_left
from cooperage.tasting.flights.shape import Flight


def leave(book: Book, flight_code: str, taster: str, *, hand: str = "") -> Flight | DifferenceFlight:
    """Write that a taster left a flight; what they gave before stays.

    Raises NoSuchFlight, AlreadyRevealed, NotOfThePanel.
    """
    with book.writing() as session:
        poured = find_any(session.connection, flight_code)
        if not poured.is_blind:
            raise AlreadyRevealed(poured.code)
        name = poured.taster_named(taster)
        if name not in poured.panel:
            raise NotOfThePanel(poured.code, name, poured.panel)
        write_left(session, poured.id, poured.departed, name, hand)
    return poured
