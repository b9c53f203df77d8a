"""A season of which less than a year was seen, and how far a season may be off.

The same cosine as in `harmonic` is weighed against none, give or take the swings that are usual (Bayesian linear
regression; Bishop, Pattern Recognition and Machine Learning, 2006, section 3.3). What the last months lost then
counts most for the next one, and the covariance of the fit gives how wide a forecast must be.

Visits of one month share its weather, so months are fitted, not visits: many barrels do not make a season surer.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cooperage.book.replay.state import DAY
from cooperage.programme.air.harmonic import clip_odd, season
from cooperage.programme.air.season import NO_SEASON, UNKNOWN_SEASON, Season, mean_waves

Floats = NDArray[np.float64]

_MONTH = 28 * DAY
# As shares of the loss, common practice (no source): deviations of the level, the cosine and the sine before anything
# is seen; of a month from its season, be it weather or a year that is no cosine, until months have shown that; and of a
# visit from its month.
_BEFORE = np.array([1.0, 0.25, 0.25])
_OF_MONTH, _OF_VISIT = 0.11, 0.1
_LEAST_OF_MONTH, _OF_YEAR = 0.02, 13
_USUAL_MONTHS = 8.0  # months' worth of trust in `_OF_MONTH` (common practice, no source)


def season_until_now(began: Floats, ended: Floats, ratio: Floats) -> Season:
    """Fit the season to visits as `season` does; with less than a year of them, what they show of it so far.

    Either way how far it may be off is known, but where there is none.
    """
    if len(ratio) == 0:
        return UNKNOWN_SEASON
    found, so_far = season(began, ended, ratio), _so_far(began, ended, clip_odd(ratio))
    if not found.is_known:
        return so_far
    return found if found == NO_SEASON else replace(found, spread=so_far.spread)


def _so_far(began: Floats, ended: Floats, ratio: Floats) -> Season:
    """Weigh the swing that was seen, month by month, against none; its mean over the visits is 1."""
    cosine, sine = mean_waves(began, ended, np)
    month = ((began + ended) / 2 // _MONTH).astype(np.int64)
    month -= month.min()
    count = np.bincount(month)
    sums = [np.bincount(month, each) for each in (ratio, np.ones_like(ratio), cosine, sine)]
    seen, *waves = (each[count > 0] / count[count > 0] for each in sums)
    of_visit = _OF_VISIT**2 + float(np.mean((ratio - (sums[0] / count.clip(1))[month]) ** 2))
    columns, of_visits = np.column_stack(waves), of_visit / count[count > 0]
    usual, _ = _weighed(columns, seen - 1, _OF_MONTH**2 + of_visits)
    of_month = _of_month(seen - 1 - columns @ usual, of_visits)
    (_, a, b), spread = _weighed(columns, seen - 1, of_month + of_visits)
    centre = (float(cosine.mean()), float(sine.mean()))
    return Season(float(a), float(b), is_known=False, centre=centre, spread=tuple(map(tuple, spread.tolist())))


def _weighed(columns: Floats, seen: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Return level and waves by months that were seen, against what is usual, and their covariance."""
    spread = np.asarray(np.linalg.inv(columns.T @ (columns / variance[:, None]) + np.diag(_BEFORE**-2.0)))
    return np.asarray(spread @ (columns.T @ (seen / variance))), spread


def _of_month(left: Floats, of_visits: Floats) -> float:
    """Return the variance of a month about its season, moderated by the usual one (Smyth (2004), see `rates`).

    A cosine bends to any part of a year: months count once a whole one has been seen.
    """
    beyond = max(0, len(left) - _OF_YEAR)
    shown = float((left**2).mean() * len(left) / max(1, len(left) - len(_BEFORE)) - of_visits.mean())
    return max(_LEAST_OF_MONTH**2, (_USUAL_MONTHS * _OF_MONTH**2 + beyond * shown) / (_USUAL_MONTHS + beyond))
