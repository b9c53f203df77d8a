"""What a vessel remembers of its readings: the last one, and the latest few beside what the book had before each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple


@dataclass(slots=True)
class Read:
    """The last reading of a property: when, what, how sure, whether the mead has changed since, and by which method."""

    at: float
    value: float
    uncertainty: float
    changed: bool = False
    method: str = ""

    def as_kept(self) -> list[Any]:
        """Return it as it is kept."""
        known = [self.at, self.value, self.uncertainty, self.changed]
        return [*known, self.method] if self.method else known


class SinceRead(NamedTuple):
    """What the book knows of a property, and what happened to the mead since that was known.

    `expected` is the book's figure (None: unknown), `age` for how many days it has been known, `elsewhere` how many of
    those it was not in the kind of vessel it is in now: in a tank for a barrel, in wood for a tank. `added` of it came
    by hand since, `added_age` days ago. It was `racked` so often since, the last time `here` days ago. The level has
    been known for `left_alone` days: what evaporated in them the book does not have yet.
    """

    expected: float | None
    age: float
    elsewhere: float
    added: float
    added_age: float
    racked: float
    here: float
    left_alone: float


class Reread(NamedTuple):
    """A reading beside what the book had just before it, so that what happens between readings can be learned.

    `since` is that, in the vessel's `fill`-th fill. Days are to a hundredth, calculated figures have six digits.
    """

    at: float
    value: float
    uncertainty: float
    fill: int
    since: SinceRead


UNKNOWN = SinceRead(None, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
REMEMBERED = 8
"""So many readings of each property a vessel remembers: two years of quarterly ones."""


def as_kept(since: SinceRead) -> SinceRead:
    """Return it as it is kept: calculated figures with six digits, days and rackings to a hundredth."""
    expected = None if since.expected is None else float(f"{since.expected:.6g}")
    rounded = SinceRead(*(round(each or 0.0, 2) for each in since))
    return rounded._replace(expected=expected, added=float(f"{since.added:.6g}"))


def reread_from(kept: Sequence[Any]) -> Reread:
    """Read one back from the list in which it is kept."""
    at, value, uncertainty, fill, since = kept
    return Reread(at, value, uncertainty, fill, SinceRead(*since))
