"""Which barrels are worth weighing for a leak, all of a cellar at once, since most go no further.

Those are barrels whose last visits are high for barrels like them, or whose record rises somewhere: the generalised
likelihood ratio of a change against a barrel's own past (Basseville and Nikiforov, Detection of Abrupt Changes, 1993,
section 2.4) is what makes a thrifty barrel's leak seen that only brings it up to its peers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.losses.loss_rate import Noise

if TYPE_CHECKING:
    from cooperage.programme.losses.leaks import BarrelVisits, Peers

Floats = NDArray[np.float64]

_LOOKED_AT = ("lost", "exposure", "steps")
_RECENT = 3
# How much more than its peers, or than before, is worth a look [1], beyond how many deviations; and a visit this many
# times the middling one is drawn in, so that a slip is no rise.
_MORE, _RISES, _SLIP = 0.35, 2.0, 2.5


def are_worth_a_look(barrels: Sequence[BarrelVisits], peers: Sequence[Peers], noise: Noise) -> NDArray[np.bool_]:
    """Return for each barrel whether its last visits are high for barrels like it or its record rises, by some chance.

    All barrels at once, since most of a cellar goes no further: rows are barrels, right aligned.
    """
    most = max(len(each.lost) for each in barrels)
    lost, exposed, steps = (_right_aligned([getattr(e, name) for e in barrels], most) for name in _LOOKED_AT)
    rate = np.array([each.rate for each in peers])[:, None]
    apart = (noise.share * rate * exposed) ** 2 + noise.of_step(steps)
    among = np.array([each.variance for each in peers])[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        is_high = _are_high(lost, exposed, rate, apart, among, noise)
        rises = _rise(lost, exposed, apart, noise)
    return np.asarray(is_high | (rises & (np.count_nonzero(exposed, axis=1) >= _RECENT)))


def _right_aligned(rows: Sequence[Floats], most: int) -> Floats:
    """Return rows of different lengths as one table that ends with each row's last; zero where a row has none."""
    table = np.zeros((len(rows), most))
    counts = np.array([len(row) for row in rows])
    table[np.arange(most) >= most - counts[:, None]] = np.concatenate(rows)
    return table


def _are_high(
    lost: Floats, exposed: Floats, rate: Floats, apart: Floats, among: Floats, noise: Noise
) -> NDArray[np.bool_]:
    """Return whether the last visit, or the last few together, are high for barrels like each, beyond a deviation."""
    sums = [
        [table[:, -count:].sum(axis=1, keepdims=True) for table in (lost, exposed, apart)] for count in (1, _RECENT)
    ]
    found, expected, own = (np.hstack([each[nth] for each in sums]) for nth in range(3))
    spread = 2 * noise.level_ml**2 + own + among * expected**2
    more = found - rate * expected
    return np.asarray(((more >= _MORE * rate * expected) & (more**2 >= spread)).any(axis=1))


def _rise(lost: Floats, exposed: Floats, apart: Floats, noise: Noise) -> NDArray[np.bool_]:
    """Return whether from some visit on each barrel lost more than before, by more than chance; slips are drawn in."""
    ratio = np.sort(np.where(exposed > 0, lost / exposed, np.inf), axis=1)
    middle = np.maximum(ratio[np.arange(len(ratio)), np.count_nonzero(exposed, axis=1) // 2], 1e-9)
    lost = np.cumsum(np.minimum(lost, _SLIP * middle[:, None] * exposed), axis=1)
    exposed, apart = np.cumsum(exposed, axis=1), np.cumsum(apart, axis=1)
    times = (exposed[:, -1:] - exposed[:, :-1]) / exposed[:, :-1]
    usual = times * lost[:, :-1]
    risen = lost[:, -1:] - lost[:, :-1] - usual
    level = 2 * noise.level_ml**2
    spread = level + apart[:, -1:] - apart[:, :-1] + times**2 * (level + apart[:, :-1])
    return np.asarray(((risen > _MORE * usual) & (risen > _RISES * np.sqrt(spread))).any(axis=1))
