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
from cooperage.programme.ageing.models import AGEINGS

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Step:
    """One stretch of time for n vessels, up to a reading or to now; arrays of shape (n,).

    What there was is multiplied by `kept` (mixing and evaporation) and ages `age` days; `added` came besides and ages
    `added_age` days; of both, `racked` rackings took their part `racked_age` days ago. Where it `begins`, what was
    before does not count: the figure is `came`, which came with the mead, or unknown (NaN) until the reading. `value`
    (NaN: none) was measured at the end; `doubt` is the standard uncertainty of it.
    """

    kept: Floats
    age: Floats
    added: Floats
    added_age: Floats
    racked: Floats
    racked_age: Floats
    value: Floats
    doubt: Floats
    came: Floats
    begins: Flags


@dataclass(frozen=True)
class Trails:
    """The steps of n vessels, oldest first; the last one leads up to now and has no reading."""

    steps: tuple[Step, ...]


_COLUMNS = 10
_NOTHING = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, np.nan, 1.0, np.nan, False)


_LEAST_DOUBT = 0.01
"""No reading is surer than this share of an ordinary one, though a person wrote that it is exact."""


def trails_of(standings: Sequence[Standing], name: str) -> Trails:
    """Gather what vessels remember of a property; readings stand at the end, so that all lead up to now together."""
    rows = [_rows(standing, name) for standing in standings]
    longest = max((len(each) for each in rows), default=1)
    cells = np.array([[_NOTHING] * (longest - len(each)) + each for each in rows], dtype=np.float64)
    cells = cells.reshape(len(rows), longest, _COLUMNS)
    return Trails(tuple(_step(cells[:, at]) for at in range(longest)))


def _step(cells: Floats) -> Step:
    kept, age, added, added_age, racked, racked_age, value, doubt, came, begins = cells.T
    return Step(kept, age, added, added_age, racked, racked_age, value, doubt, came, begins > 0)


def _rows(standing: Standing, name: str) -> list[tuple[float, ...]]:
    """Return a vessel's steps: one for each remembered reading, and the last one up to now."""
    rows, before, least = [], None, _LEAST_DOUBT * ordinary_doubt(name)
    pace = _pace_elsewhere(standing, name)
    for reread in standing.state.rereads.get(name, []):
        measured = (reread.value, max(reread.uncertainty, least))
        rows.append(_step_of(before, reread.since, reread.fill, measured, pace))
        before = reread
    state, doubt = standing.state, ordinary_doubt(name)
    has_read = before is not None and name in state.reads
    now = state.since_read(name, standing.at.timestamp())
    return [*rows, _step_of(before if has_read else None, now, state.fills, (np.nan, doubt), pace)]


def _step_of(
    before: Reread | None, since: SinceRead, fill: int, measured: tuple[float, float], pace: float
) -> tuple[float, ...]:
    """Return the step from one reading to the next; what was not read in a fill begins with what came with the mead."""
    if since.expected is None:
        return (*_NOTHING[:6], *measured, np.nan, True)
    base = since.expected - since.added
    age = since.age - since.elsewhere + pace * since.elsewhere
    happened = (age, since.added, since.added_age, since.racked, since.here)
    if before is None or before.fill != fill:
        return (1.0, *happened, *measured, base, True)
    kept = base / before.value if before.value > 0 and base > 0 else 1.0
    return (kept, *happened, *measured, np.nan, False)


def _pace_elsewhere(standing: Standing, name: str) -> float:
    """Return how many days here are like one in a vessel of the other kind: in a tank for a barrel, in wood for it."""
    of_tank = AGEINGS[name].of_tank
    return exp(of_tank if standing.vessel.is_barrel else -of_tank)


def known_at(standing: Standing, name: str) -> float:
    """Return since when the book's figure is known [seconds since 1970]."""
    at = standing.at.timestamp()
    return at - standing.state.since_read(name, at).age * DAY


def ordinary_doubt(name: str) -> float:
    """Return one standard deviation of an ordinary reading, in the property's unit."""
    return PROPERTIES[name].uncertainty
