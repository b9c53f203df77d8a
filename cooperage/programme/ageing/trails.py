"""What a vessel remembers of one property: each reading, and what came before the next."""

from math import nan

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.contents import PLACE_OF
from cooperage.book.replay.state import DAY, Read, Reread

_LEAST_DOUBT = 0.01
"""No reading is surer than this share of an ordinary one, though a person wrote that it is exact."""


def rows_of(standing: Standing, name: str) -> list[tuple[float, ...]]:
    """Return a vessel's steps: one for each remembered reading, and the last one up to now."""
    rows, before, least = [], None, _LEAST_DOUBT * ordinary_doubt(name)
    for reread in standing.state.rereads.get(name, []):
        rows.append(_between(before, reread, least))
        before = reread
    return [*rows, up_to_now(standing, name)]


def _between(before: Reread | None, reread: Reread, least: float) -> tuple[float, ...]:
    measured = (reread.value, max(reread.uncertainty, least))
    if reread.expected is None:
        return (1.0, 0.0, 0.0, 0.0, *measured, nan, True)
    if before is None or before.fill != reread.fill:
        return (1.0, reread.age, 0.0, 0.0, *measured, reread.expected, True)
    kept, age = _parts(before.value, reread.expected, reread.age, reread.added, reread.added_age)
    return (kept, age, reread.added, reread.added_age, *measured, nan, False)


def up_to_now(standing: Standing, name: str) -> tuple[float, ...]:
    """Return the last step; what was never read in this fill begins with the figure that came with the mead."""
    read, book = standing.state.reads.get(name), _book_value(standing, name)
    now = standing.at.timestamp()
    age = max(0.0, (now - known_at(standing, name)) / DAY)
    if read is None:
        return (1.0, age, 0.0, 0.0, nan, ordinary_doubt(name), book, True)
    added, added_age = read.added, max(0.0, (now - read.added_at) / DAY) if read.added else 0.0
    kept, base_age = _parts(read.value, book, age, added, added_age)
    return (kept, base_age, added, added_age, nan, 1.0, nan, False)


def _parts(before: float, expected: float, age: float, added: float, added_age: float) -> tuple[float, float]:
    """Return what is left of the reading before as a share of it, and its age: the mean age counts both by amount."""
    base = expected - added
    kept = base / before if before > 0 and base > 0 else 1.0
    base_age = (age * expected - added_age * added) / base if added and base > 0 else age
    return kept, max(0.0, base_age)


def _book_value(standing: Standing, name: str) -> float:
    if name in PLACE_OF:
        value = standing.state.contents.value(PLACE_OF[name])
    else:
        read = standing.state.reads.get(name)
        value = None if read is None else read.value
    return nan if value is None else value


def known_at(standing: Standing, name: str) -> float:
    """Return since when the book's figure is known [seconds since 1970]."""
    if name in PLACE_OF:
        return standing.state.contents.known_on(PLACE_OF[name]) * DAY
    read: Read | None = standing.state.reads.get(name)
    return 0.0 if read is None else read.at


def ordinary_doubt(name: str) -> float:
    """Return one standard deviation of an ordinary reading, in the property's unit."""
    return PROPERTIES[name].uncertainty
