"""What to look for in the book: words that name a kind of entry, a vessel, or a day up to which to look."""

from dataclasses import dataclass
from datetime import datetime

from cooperage.book import Book, Cellar
from cooperage.book.declared.acts import KINDS
from cooperage.book.log import Entry, entries
from cooperage.errors import BadInput
from cooperage.units import NotATime, read_span


class NothingMeant(BadInput):
    """A word of the filter that names nothing."""

    def __init__(self, word: str) -> None:
        self.word = word
        super().__init__(f"'{word}' is not a kind of entry, a vessel or a day. Kinds are {', '.join(KINDS)}")


@dataclass(frozen=True, slots=True)
class EntryFilter:
    """Which entries are wanted; None is all of them."""

    kind: str | None = None
    vessel_id: str | None = None
    until: datetime | None = None


def wanted_by(words: str, cellar: Cellar, now: datetime) -> EntryFilter:
    """Parse the words of a filter; raises NothingMeant."""
    kind, vessel_id, until = None, None, None
    for word in words.split():
        if word.lower() in KINDS:
            kind = word.lower()
        elif word in cellar:
            vessel_id = cellar[word].vessel.id
        else:
            until = _day(word, now)
    return EntryFilter(kind, vessel_id, until)


def _day(word: str, now: datetime) -> datetime | None:
    """Return the last moment of a day, or of what comes before a moment."""
    try:
        return read_span(None, word, now).last
    except NotATime:
        raise NothingMeant(word) from None


def newest(book: Book, wanted: EntryFilter, count: int) -> list[Entry]:
    """Read the newest entries that are wanted."""
    with book.reading() as connection:
        return entries(connection, kind=wanted.kind, vessel_id=wanted.vessel_id, until=wanted.until, newest=count)
