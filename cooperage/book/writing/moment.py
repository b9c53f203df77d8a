"""The moment at which a transaction writes: this computer's clock, as long as it agrees with the book.

Entries are struck, told and exported in the order they were written, so that order must be true: a clock that is
behind is told of, and nothing is written by it.
"""

from datetime import datetime, timedelta

from sqlalchemy import Connection, select

from cooperage.book.errors import ClockBehind
from cooperage.book.replay.events import STANDS
from cooperage.book.store.models import EntryRow

_NEWEST = select(EntryRow.written_at).where(STANDS).order_by(EntryRow.written_at.desc(), EntryRow.id.desc()).limit(1)

TOLERANCE = timedelta(minutes=2)
"""How far the clocks of two laptops on one cellar may lie apart unnoticed (common practice, no source)."""
_TICK = timedelta(milliseconds=1)  # as fine as ids tell moments apart


def moment_of_writing(connection: Connection, now: datetime) -> datetime:
    """Return `now`, or just after the newest entry where that was written a little later by another clock.

    What was struck does not count: an entry written by a clock far ahead, once struck, holds nobody up. Raises
    ClockBehind.
    """
    newest = connection.execute(_NEWEST).scalar()
    if newest is None or newest <= now:
        return now
    if newest - now > TOLERANCE:
        raise ClockBehind(now, newest)
    return newest + _TICK
