"""One search over everything that has a name or was written down: vessels, lots, bottlings, flights, words, notes."""

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, Text, cast, func, or_, select

from cooperage.book import Book, Cellar
from cooperage.book.declared.looks import SMELL_SPELLINGS, SMELLS
from cooperage.book.log import Entry, entries
from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import BOTTLING, ENTRY, FLIGHT
from cooperage.book.vessel_words import vessel_line
from cooperage.book.words import entry_line
from cooperage.errors import BadInput
from cooperage.units import DEFAULT, Units, counted

MOST_NOTES = 30
"""How many entries are found at most, the newest."""


class NothingToFind(BadInput):
    """A search for nothing."""

    def __init__(self) -> None:
        super().__init__("type what to look for: a tag, a lot, a bottling, a flight, or words of a note")


COSTED = ("vessel", "lot", "bottling")
"""The kinds of what has a cost."""


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that was found: its kind ("vessel", "lot", "bottling", "flight", "word" or "entry") and its words.

    `name` is its tag, its code or the entry's id; `vessel` is the vessel an entry is about, if it is about one.
    """

    kind: str
    name: str
    words: str
    vessel: str | None = None


def everything_with(book: Book, cellar: Cellar, text: str, units: Units = DEFAULT) -> list[Found]:
    """List what has `text` in its name or words, exact names first, entries newest first; raises NothingToFind."""
    sought = " ".join(text.split())
    if not sought:
        raise NothingToFind
    with book.reading() as connection:
        named = [*_vessels(cellar, units), *_lots(cellar), *_coded(connection), *_words()]
    low = sought.casefold()
    hits = [each for each in named if low in f"{each.name} {each.words}".casefold()]
    hits.sort(key=lambda each: (each.name.casefold() != low, not each.name.casefold().startswith(low)))
    return [*hits, *noted_with(book, sought, units)]


def noted_with(book: Book, text: str, units: Units = DEFAULT) -> list[Found]:
    """List the newest entries that have `text` among what was typed for them."""
    with book.reading() as connection:
        noted = _entries_with(connection, " ".join(text.split()))
    return [Found("entry", entry.id, entry_line(entry, units, short=True), entry.vessel) for entry in noted]


def code_named(connection: Connection, cellar: Cellar, typed: str) -> Found | None:
    """Return the lot, bottling or flight whose whole code was typed or scanned; None if there is none."""
    low = typed.strip().casefold()
    coded = [*_lots(cellar), *_coded(connection)]
    return next((each for each in coded if each.name.casefold() == low), None)


def named_everything(book: Book, cellar: Cellar, units: Units = DEFAULT) -> list[Found]:
    """List all that has a name: vessels in walking order, lots, bottlings, flights, the words of looks."""
    with book.reading() as connection:
        return [*_vessels(cellar, units), *_lots(cellar), *_coded(connection), *_words()]


def _vessels(cellar: Cellar, units: Units) -> Iterator[Found]:
    for standing in cellar.in_walking_order():
        words = vessel_line(standing, units).removeprefix(standing.tag).strip()
        yield Found("vessel", standing.tag, words, standing.tag)


def _lots(cellar: Cellar) -> Iterator[Found]:
    for code, lot in cellar.lots.items():
        yield Found("lot", code, lot.name)


def _coded(connection: Connection) -> Iterator[Found]:
    bottled = select(BOTTLING.c.code, func.sum(BOTTLING.c.bottles)).join(ENTRY, ENTRY.c.id == BOTTLING.c.entry_id)
    for code, bottles in connection.execute(bottled.where(STANDS).group_by(BOTTLING.c.code).order_by(BOTTLING.c.code)):
        yield Found("bottling", code, counted(int(bottles), "bottle"))
    for code, name in connection.execute(select(FLIGHT.c.code, FLIGHT.c.name).order_by(FLIGHT.c.code)):
        yield Found("flight", code, name)


def _words() -> Iterator[Found]:
    for smell, means in SMELLS.items():
        others = ", ".join(spelled for spelled, meant in SMELL_SPELLINGS.items() if meant == smell and spelled != smell)
        yield Found("word", smell, f"{means}{f' (also {others})' if others else ''}")


def _entries_with(connection: Connection, sought: str) -> list[Entry]:
    ids = select(ENTRY.c.id).where(_has(sought)).where(STANDS).order_by(ENTRY.c.written_at.desc()).limit(MOST_NOTES)
    found = list(connection.scalars(ids))
    return entries(connection, ids=found, newest=MOST_NOTES, in_written_order=True) if found else []


def _has(sought: str) -> ColumnElement[bool]:
    """Hold where an entry's note, or what else was typed for it, has these words, in capitals or not."""
    return or_(
        ENTRY.c.note.icontains(sought, autoescape=True), cast(ENTRY.c.said, Text).icontains(sought, autoescape=True)
    )
