"""The week in which to pull, and when to look next: both by how many weeks off its window a barrel would be pulled.

Of each drawn course it is known how many weeks a week lies before or after its window. To pull in the week that is
least off on average is the best without another look. A look shows whether the limits hold, have held, or are still to
hold, after which the best week is known better: the next look is where that gains most. Source: Raiffa and Schlaifer,
Applied Statistical Decision Theory (1961), ch. 4, for what an observation is worth before it is made.
"""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.ready.looks import WEEKS
from cooperage.programme.ready.mixed import Floats

Flags: TypeAlias = NDArray[np.bool_]

SOONEST_LOOK, LATEST_LOOK = 4, 26
"""Weeks from one look to the next, the fewest and the most, however sure it is (common practice, no source)."""
LOOK_COSTS = 2.0
"""A look costs as much as a barrel pulled so many weeks off its window (common practice, no source)."""
_FOR_NOTHING = 0.01
"""By so much more for each week that a look which settles nothing comes before the latest."""


def weeks_off(holds: Flags, over: Flags, weeks: Floats) -> Floats:
    """Return how many weeks off its window each course is at each moment, of shape (draws, moments).

    `holds`, of that shape, is whether all limits hold, `weeks` are the moments in order. Of courses that never hold
    those whose time is `over`, of shape (draws,), are the farther off the later; of others it comes after the year.
    """
    far = 1e6
    ahead = np.minimum.accumulate(np.where(holds, weeks, far)[:, ::-1], axis=1)[:, ::-1]
    behind = np.maximum.accumulate(np.where(holds, weeks, -far), axis=1)
    off: Floats = np.minimum(ahead - weeks, weeks - behind)
    never = ~holds.any(axis=1)
    off[never & over] = weeks - weeks[0]
    off[never & ~over] = np.maximum(0.0, WEEKS + 1 - weeks)
    return off


def best_week(off: Floats) -> int:
    """Return the week that is least off on average, counted from the first of `off`; 0 where waiting is not worth it.

    `off` is of shape (draws, weeks), of weeks one after the other.
    """
    expected = off.mean(axis=0)
    best = int(expected.argmin())
    return 0 if expected[0] <= expected[best] + LOOK_COSTS else best


def week_to_look(off: Floats, holds: Flags, over: Flags, look: int) -> int:
    """Return after how many weeks from the moment at place `look` to look again: where that is worth most.

    `off` and `holds` are of shape (draws, moments), weeks one after the other from `look` on.
    """
    had = np.logical_or.accumulate(holds, axis=1) | (over & ~holds.any(axis=1))[:, None]
    until = min(LATEST_LOOK, off.shape[1] - look - 1)
    worth = [_expected_off(off, holds, had, look, week) for week in range(SOONEST_LOOK, until + 1)]
    return SOONEST_LOOK + int(np.argmin(worth)) if worth else SOONEST_LOOK


def _expected_off(off: Floats, holds: Flags, had: Flags, look: int, week: int) -> float:
    """Return the weeks off to expect where it is looked at in a week, and pulled then or in a better one."""
    at = look + week
    held, passed = holds[:, at], had[:, at] & ~holds[:, at]
    again = LOOK_COSTS * (1 + _FOR_NOTHING * (LATEST_LOOK - week))
    whole = 0.0
    for seen in (held, passed, ~had[:, at]):
        if seen.any():
            sums = off[seen, at:].sum(axis=0)
            later = sums[SOONEST_LOOK:].min(initial=np.inf) + again * float(seen.sum())
            whole += min(float(sums[0]), float(later))
    return whole / len(off)
