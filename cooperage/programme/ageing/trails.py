"""What vessels remember of one property, side by side as arrays: each reading, and what came before the next."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.replay.rereads import Reread, SinceRead
from cooperage.book.replay.state import DAY
from cooperage.programme.ageing.leaving import NOTHING_LEAVES, AirDrift, Leaving
from cooperage.programme.ageing.models import AGEINGS

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Step:
    """One stretch of time for n vessels, up to a reading or to now; arrays of shape (n,).

    What there was is multiplied by `kept` (mixing and evaporation) and ages `age` days; `added` came besides and ages
    `added_age` days; of both, `racked` rackings took their part `racked_age` days ago, and what evaporated
    changed it `by_air`. Where it `begins`, what was
    before does not count: the figure is `came`, which came with the mead, or unknown (NaN) until the reading. `value`
    (NaN: none) was measured at the end; `doubt` is the standard uncertainty of it.
    """

    kept: Floats
    age: Floats
    added: Floats
    added_age: Floats
    racked: Floats
    racked_age: Floats
    by_air: Floats
    value: Floats
    doubt: Floats
    came: Floats
    begins: Flags


@dataclass(frozen=True)
class Trails:
    """The steps of n vessels, oldest first; the last one leads up to now and has no reading."""

    steps: tuple[Step, ...]


_COLUMNS = 11
_NOTHING = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, np.nan, 1.0, np.nan, False)


_LEAST_DOUBT = 0.01
"""No reading is surer than this share of an ordinary one, though a person wrote that it is exact."""


def trails_of(standings: Sequence[Standing], name: str, leaving: Leaving = NOTHING_LEAVES) -> Trails:
    """Gather what vessels remember of a property; readings stand at the end, so that all lead up to now together.

    `leaving` is what evaporates of them.
    """
    rows = [_Rows(standing, name, leaving.of(standing)).all() for standing in standings]
    longest = max((len(each) for each in rows), default=1)
    cells = np.array([[_NOTHING] * (longest - len(each)) + each for each in rows], dtype=np.float64)
    cells = cells.reshape(len(rows), longest, _COLUMNS)
    return Trails(tuple(_step(cells[:, at]) for at in range(longest)))


def _step(cells: Floats) -> Step:
    kept, age, added, added_age, racked, racked_age, by_air, value, doubt, came, begins = cells.T
    return Step(kept, age, added, added_age, racked, racked_age, by_air, value, doubt, came, begins > 0)


class _Rows:
    """The steps of one vessel, as rows of cells."""

    def __init__(self, standing: Standing, name: str, air: AirDrift) -> None:
        self._standing, self._name, self._air, self._ageing = standing, name, air, AGEINGS[name]
        of_tank = self._ageing.of_tank
        self._pace_elsewhere = exp(of_tank if standing.vessel.is_barrel else -of_tank)

    def all(self) -> list[tuple[float, ...]]:
        """Return one row for each remembered reading, and the last one up to now."""
        rows, before, state, doubt = [], None, self._standing.state, ordinary_doubt(self._name)
        for reread in state.rereads.get(self._name, []):
            measured = (reread.value, max(reread.uncertainty, _LEAST_DOUBT * doubt))
            rows.append(self._row(before, reread.since, reread.fill, measured))
            before = reread
        now = state.since_read(self._name, self._standing.at.timestamp())
        return [*rows, self._row(before if self._name in state.reads else None, now, state.fills, (np.nan, doubt))]

    def _row(
        self, before: Reread | None, since: SinceRead, fill: int, measured: tuple[float, float]
    ) -> tuple[float, ...]:
        """Return the step from one reading to the next; what was not read in a fill begins with what came to it."""
        if since.expected is None:
            return (*_NOTHING[:7], *measured, np.nan, True)
        is_first = before is None or before.fill != fill
        base, here = since.expected - since.added, since.age - since.elsewhere
        age = here + self._pace_elsewhere * since.elsewhere
        known = since.left_alone if before is None or is_first else since.left_alone - before.since.left_alone
        by_air = self._by_air(since.expected, here, known)
        happened = (age, since.added, since.added_age, since.racked, since.here, by_air)
        if before is None or is_first:
            return (1.0, *happened, *measured, base, True)
        kept = base / before.value if before.value > 0 and base > 0 else 1.0
        return (kept, *happened, *measured, np.nan, False)

    def _by_air(self, value: float, days_here: float, days_unbooked: float) -> float:
        """Return what evaporation changed: strength on every day, else what no topping has shown the book yet."""
        strength = self._air.strength * days_here if self._ageing.leaves_by_air else 0.0
        return strength + (self._air.richer * value * days_unbooked if self._ageing.grows_richer else 0.0)


def known_at(standing: Standing, name: str) -> float:
    """Return since when the book's figure is known [seconds since 1970]."""
    at = standing.at.timestamp()
    return at - standing.state.since_read(name, at).age * DAY


def ordinary_doubt(name: str) -> float:
    """Return one standard deviation of an ordinary reading, in the property's unit."""
    return PROPERTIES[name].uncertainty
