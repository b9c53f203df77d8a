"""A flight of either kind is closed: its codes are lifted, and it stands. Before that a look at them is written.

A taster may leave it before its end: it is closed with who is there, and its results show it.
"""

from cooperage.book import Book
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import find_any
from cooperage.tasting.flights.closing import peek_found, reveal_found
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.leaving import NothingWaitedFor, NotOfThePanel, write_left
from cooperage.tasting.flights.shape import Flight


def reveal_any(book: Book, flight_code: str, *, hand: str = "", sure: bool = False) -> Flight | DifferenceFlight:
    """Close a flight of either kind: lift the codes; from then on all of it stands.

    Raises NoSuchFlight; NotAllIn or AnswersToCome, unless `sure`, where something is to come or nothing was given.
    """
    return reveal_found(book, flight_code, find_any, hand=hand, sure=sure)


def peek_any(book: Book, flight_code: str, *, hand: str = "") -> Flight | DifferenceFlight:
    """Return a flight of either kind for a look at its codes; while it is blind, that is written.

    Raises NoSuchFlight.
    """
    return peek_found(book, flight_code, find_any, hand=hand)


def leave(book: Book, flight_code: str, taster: str, *, hand: str = "") -> Flight | DifferenceFlight:
    """Write that a taster left a flight; what they gave before stays.

    Raises NoSuchFlight, AlreadyRevealed, NotOfThePanel, NothingWaitedFor.
    """
    with book.writing() as session:
        poured = find_any(session.connection, flight_code)
        if not poured.is_blind:
            raise AlreadyRevealed(poured.code)
        name = poured.taster_named(taster)
        if name not in poured.panel:
            raise NotOfThePanel(poured.code, name, poured.panel)
        if name not in dict(poured.left_to_give()) and name not in poured.departed:
            raise NothingWaitedFor(poured.code, name)
        write_left(session, poured.id, poured.departed, name, hand)
    return poured
