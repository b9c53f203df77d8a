"""What vessels remember of one property, side by side as arrays: each reading, and what came before the next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.book import Standing
from cooperage.programme.ageing.passage import NO_DRIFT, AirDrift, Stretch
from cooperage.programme.ageing.trails import rows_of
from cooperage.programme.air.warmth import UNREAD, Warmth

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Step:
    """One stretch of time for n vessels, up to a reading or to now; arrays of shape (n,).

    What there was is multiplied by `kept` (mixing and evaporation) and ages `age` days; `added` came besides and ages
    `added_age` days; of both, `racked` rackings took their part `racked_age` days ago, and what evaporated changed it
    `by_air`. What goes to its room's temperature `nears` that, which is doubtful by `nears_doubt`. Where it `begins`,
    what was before does not count: the figure is `came`, which came with the mead, or unknown (NaN) until the reading.
    `value` (NaN: none) was measured at the end; `doubt` is the standard uncertainty of it.
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
    nears: Floats | float = 0.0
    nears_doubt: Floats | float = 0.0

    @property
    def stretch(self) -> Stretch:
        """What happens on the way."""
        happened = (self.kept, self.age, self.added, self.added_age, self.racked, self.racked_age, self.by_air)
        return Stretch(*happened, self.nears, self.nears_doubt)


@dataclass(frozen=True)
class Trails:
    """The steps of n vessels, oldest first; the last one leads up to now and has no reading."""

    steps: tuple[Step, ...]


_COLUMNS = 13
_NOTHING = (1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, np.nan, 1.0, np.nan, False)


def trails_of(
    standings: Sequence[Standing],
    name: str,
    drifts: Mapping[str, AirDrift] | None = None,
    warmth: Warmth = UNREAD,
) -> Trails:
    """Gather what vessels remember of a property; readings stand at the end, so that all lead up to now together.

    `drifts` are what the air does to them, by tag, `warmth` is how warm their rooms are.
    """
    drifts = drifts or {}
    rows = [rows_of(standing, name, drifts.get(standing.tag, NO_DRIFT), warmth) for standing in standings]
    longest = max((len(each) for each in rows), default=1)
    cells = np.array([[_NOTHING] * (longest - len(each)) + each for each in rows], dtype=np.float64)
    cells = cells.reshape(len(rows), longest, _COLUMNS)
    return Trails(tuple(_step(cells[:, at]) for at in range(longest)))


def _step(cells: Floats) -> Step:
    kept, age, added, added_age, racked, racked_age, by_air, nears, nears_doubt, value, doubt, came, begins = cells.T
    measured = (value, doubt, came, begins > 0)
    return Step(kept, age, added, added_age, racked, racked_age, by_air, *measured, nears, nears_doubt)
