"""Learn what is usual from all vessels' readings: rates by likeness, share of additions, errors of readings.

Coefficients come by Gauss-Newton steps on the likelihood that `filtering` adds up, with what is declared as prior; the
spreads between vessels and between rackings are the most likely of a few, and the errors' size is moderated (Smyth
(2004), Stat. Appl. Genet. Mol. Biol. 3, 3). A fit has how it ended; too few readings are an ending, not an error.
"""

from dataclasses import dataclass, replace

import numpy as np

from cooperage.programme.ageing.experience import PRIOR
from cooperage.programme.ageing.filtering import Passed, UsualAgeing, carry_on
from cooperage.programme.ageing.likeness import Likeness
from cooperage.programme.ageing.models import Ageing
from cooperage.programme.ageing.side_by_side import Floats, Trails

LEARNED = "learned"
UNSETTLED = "unsettled"
"""The steps did not come to rest: the last one is used."""

_STEPS = 12
_SMALL = 0.02  # of a coefficient's doubt, and of the errors' size
_MODERATION = 2.0
"""Readings' worth of trust that errors are as large as the readings claim."""
_SURE = 1e-6  # stands for no doubt
_SPREADS: dict[str, tuple[tuple[float, ...], ...]] = {
    "rate_varies": ((2.0, 4.0),),
    "wander": ((2.0, 4.0),),
    "of_vessel": ((0.5,), (2.0,)),
    "takes_varies": ((0.5,), (2.0,)),
    "of_fill": ((0.25,), (2.0, 4.0)),
}
"""What declared spreads may be multiplied by, down or up, as long as that is likelier."""


@dataclass(frozen=True)
class Fitted:
    """What is usual and how sure, where it leaves each vessel with that doubt in it, and how the fit ended."""

    usual: UsualAgeing
    passed: Passed
    covariance: Floats
    ended: str

    @property
    def claimed(self) -> float:
        """Part of the squared scale of errors that is still what readings claim, not what they have shown."""
        return _MODERATION / (_MODERATION + self.passed.count_of_squares)


def fit(trails: Trails, columns: Floats, likeness: Likeness, ageing: Ageing, near: UsualAgeing | None = None) -> Fitted:
    """Fit what is usual to the readings of n vessels; `columns` are theirs by `likeness`, of shape (n, p).

    `near` is an earlier result for the same columns to begin from, which makes it quicker where little has come since.
    """
    means = np.concatenate([likeness.means, [ageing.takes, 1.0]])
    doubts = np.concatenate([likeness.doubts, np.maximum([ageing.takes_doubt, ageing.stays_doubt], _SURE)])
    usual = UsualAgeing(
        means,
        ageing.of_vessel,
        takes_varies=ageing.takes_varies,
        of_fill=ageing.of_fill,
        wander=ageing.wander,
        rate_varies=ageing.rate_varies,
    )
    if near is not None:
        usual = replace(usual, coefficients=near.coefficients, scale=near.scale)
    passed = carry_on(trails, columns, ageing, usual)
    if not passed.count:
        covariance = np.diag(doubts**2)
        return Fitted(usual, passed.doubting(covariance), covariance, PRIOR)
    usual, passed, ended = _settle(trails, columns, ageing, usual, passed, means, doubts)
    likeliest, passed = _likeliest(trails, columns, ageing, usual, passed)
    if likeliest is not usual:
        usual, passed, ended = _settle(trails, columns, ageing, likeliest, passed, means, doubts)
    covariance = np.asarray(np.linalg.inv(passed.normal + np.diag(doubts**-2)), dtype=np.float64)
    return Fitted(usual, passed.doubting(covariance), covariance, ended)


def _likeliest(
    trails: Trails, columns: Floats, ageing: Ageing, usual: UsualAgeing, passed: Passed
) -> tuple[UsualAgeing, Passed]:
    """Return the same with the likeliest of a few spreads, one after the other, and what it makes of the readings."""
    likeliest = usual
    for name, ways in _SPREADS.items():
        declared = getattr(usual, name)
        for way in ways if declared else ():
            if getattr(likeliest, name) != declared:
                break  # down was likelier, so up is not
            for times in way:
                other = replace(likeliest, **{name: declared * times})
                tried = carry_on(trails, columns, ageing, other)
                if tried.likelihood <= passed.likelihood:
                    break
                likeliest, passed = other, tried
    return likeliest, passed


def _settle(
    trails: Trails,
    columns: Floats,
    ageing: Ageing,
    usual: UsualAgeing,
    passed: Passed,
    means: Floats,
    doubts: Floats,
) -> tuple[UsualAgeing, Passed, str]:
    """Step until the coefficients rest, from what `usual` made of the readings; the errors' size follows along."""
    weights = doubts**-2
    for _ in range(_STEPS):
        pull = passed.score + weights * (means - usual.coefficients)
        move = np.linalg.solve(passed.normal + np.diag(weights), pull)
        move = np.clip(move, -doubts, doubts)
        scale = _scale(usual.scale, passed)
        settled = bool((np.abs(move) < _SMALL * doubts).all()) and abs(scale / usual.scale - 1) < _SMALL
        usual = replace(usual, coefficients=usual.coefficients + move, scale=scale)
        passed = carry_on(trails, columns, ageing, usual)
        if settled:
            return usual, passed, LEARNED
    return usual, passed, UNSETTLED


def _scale(scale: float, passed: Passed) -> float:
    """Return how large errors are against what readings claim, moderated by what they claim."""
    claimed = _MODERATION / scale**2  # so many readings stand for a scale of one
    return float(scale * np.sqrt((claimed + passed.squares) / (_MODERATION + passed.count_of_squares)))
