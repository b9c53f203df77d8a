"""A difference test is closed: its codes are lifted, and it stands. Before that who looks the codes up is written.

A taster may leave a flight of either kind before its end: it is closed with who is there, and its results show it.
"""

from cooperage.book import Book
from cooperage.tasting.difference.errors import AnswersToCome
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import find_any, find_difference
from cooperage.tasting.flights.closing import write_peek, write_reveal
from cooperage.tasting.flights.errors import AlreadyRevealed
from cooperage.tasting.flights.leaving import NotOfThePanel, write_left
from cooperage.tasting.flights.shape import Flight


def reveal_difference(book: Book, flight_code: str, *, hand: str = "", sure: bool = False) -> DifferenceFlight:
    """Close a difference test: lift the codes; from then on all of it stands.

    Raises NoSuchFlight; AnswersToCome, unless `sure`, where tasters have sets left to answer.
    """
    with book.writing() as session:
        poured = find_difference(session.connection, flight_code)
        if not poured.is_blind:
            return poured
        left = poured.left_to_answer()
        if left and not sure:
            raise AnswersToCome(poured.code, left)
        write_reveal(session, poured.id, hand)
        poured.revealed_at, poured.revealed_by = session.now, hand
    return poured


def peek_difference(book: Book, flight_code: str, *, hand: str = "") -> DifferenceFlight:
    """Return a difference test for a look at its codes; while it is blind, that is written. Raises NoSuchFlight."""
    with book.writing() as session:
        poured = find_difference(session.connection, flight_code)
        if poured.is_blind:
            poured.peeks.append(write_peek(session, poured.id, hand))
    return poured


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
