"""How a room's losses go with the seasons and the weather, learnt from the visits of all its barrels.

A hot spell makes every barrel of a room lose more, so it is no sign of a leak in one of them: what its barrels have
in common within some weeks is its spell, the middling of what they lost over what they lose on average. What comes
back every year is the season, one cosine, which alone can be carried forward.

The cosine is fitted to what each visit lost over what its barrel loses on average (harmonic regression; Bloomfield,
Fourier Analysis of Time Series, 2nd ed. 2000, chapter 2). A cellar that has not seen most of a year has no season yet.
What is made of its visits until then is in `first_year`.
"""

from math import hypot
from statistics import median

import numpy as np
from numpy.typing import NDArray

from cooperage.book.replay.state import DAY
from cooperage.programme.air.season import LEAST, NO_SEASON, UNKNOWN_SEASON, Season, mean_waves

Floats = NDArray[np.float64]

_LEAST_VISITS, _LEAST_DAYS, _MOST_SWING = 24, 300.0, 0.8
_STEP, _REACH, _CAUTION = 14 * DAY, 25 * DAY, 3.0
_ODD = (0.0, 2.5)  # a visit this far from its barrel's mean is a leak or a slip, not the season
_CERTAIN = 2.0


def mean_multiples(season: Season, began: Floats, ended: Floats) -> Floats:
    """Return the mean multiple of a season between each two moments [seconds since 1970], any shape."""
    multiples = season.multiple(*mean_waves(began, ended, np))
    return multiples if season.is_known else np.maximum(multiples, LEAST)


def clip_odd(ratio: Floats) -> Floats:
    """Draw in what a leak or a slip lost, or gained, so that it does not pass for the season."""
    return np.clip(ratio, *_ODD)


def season(began: Floats, ended: Floats, ratio: Floats) -> Season:
    """Fit the season to visits; `ratio` is lost over expected at the barrel's mean rate. All of shape (visits,).

    Returns the unknown season while fewer than 24 visits or 300 days were seen, and none where its swing is all error.
    """
    ratio = clip_odd(ratio)
    if len(ratio) < _LEAST_VISITS or (ended.max() - began.min()) / DAY < _LEAST_DAYS:
        return UNKNOWN_SEASON
    cosine, sine = mean_waves(began, ended, np)
    columns = np.column_stack([np.ones_like(ratio), cosine, sine])
    weight = np.sqrt(ended - began)[:, None]
    solved, *_ = np.linalg.lstsq(columns * weight, ratio * weight[:, 0], rcond=None)
    level, a, b = (float(each) for each in solved)
    error = float(np.std(ratio - columns @ solved)) * (2 / len(ratio)) ** 0.5
    swing = hypot(a, b)
    if level <= 0 or swing < _CERTAIN * error:
        return NO_SEASON
    shrunk = min(1.0, _MOST_SWING * level / swing) / level
    return Season(a * shrunk, b * shrunk)


def spells(began: Floats, ended: Floats, ratio: Floats) -> tuple[Floats, Floats]:
    """Return moments [seconds since 1970], a fortnight apart, and the room's spell at each: shape (moments,) both.

    Few visits near a moment count with caution: three visits' worth of an ordinary spell are added.
    """
    if len(ratio) == 0:
        return np.zeros(1), np.ones(1)
    middle = (began + ended) / 2
    order = np.argsort(middle)
    middle, ratio = middle[order], ratio[order]
    moments = np.arange(middle[0], middle[-1] + _STEP, _STEP)
    first, last = np.searchsorted(middle, moments - _REACH), np.searchsorted(middle, moments + _REACH)
    spell = np.ones(len(moments))
    for index, (a, b) in enumerate(zip(first, last, strict=True)):
        if b > a:
            spell[index] = ((b - a) * max(median(ratio[a:b].tolist()), 0.2) + _CAUTION) / (b - a + _CAUTION)
    return moments, spell
