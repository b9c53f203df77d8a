"""The moment at which a transaction writes: this computer's clock, as long as it agrees with the book.

Entries are struck, shown and exported in the order they were written. A clock that is behind would break that order,
so it is reported and nothing is written.
"""

from datetime import datetime, timedelta

from sqlalchemy import Connection, select

from cooperage.book.errors import ClockBehind
from cooperage.book.replay.events import STANDS
from cooperage.book.store.tables import ENTRY

_NEWEST = select(ENTRY.c.written_at).where(STANDS).order_by(ENTRY.c.written_at.desc(), ENTRY.c.id.desc()).limit(1)

TOLERANCE = timedelta(minutes=2)
"""How far the clocks of two laptops on one cellar may differ unnoticed (common practice, no source)."""
_STEP = timedelta(milliseconds=1)  # the resolution of ids


def moment_of_writing(connection: Connection, now: datetime) -> datetime:
    """Return `now`, or just after the newest entry where that was written a little later by another clock.

    What was struck does not count: an entry written by a clock far ahead, once struck, blocks no writing. Raises
    ClockBehind.
    """
    newest: datetime | None = connection.execute(_NEWEST).scalar()
    if newest is None or newest <= now:
        return now
    if newest - now > TOLERANCE:
        raise ClockBehind(now, newest)
    return newest + _STEP
