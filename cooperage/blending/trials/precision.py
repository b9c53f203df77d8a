"""What a trial will be able to show, from its blends and how far this cellar's tasters usually stray."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.blending.mixture.precision import Precision, precision_of
from cooperage.blending.mixture.region import Region
from cooperage.blending.mixture.terms import CannotFit
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.design import DesignDoesNotFit
from cooperage.blending.trials.trial import DEGREES, Trial
from cooperage.tasting.flights import Flight, bounds, score_table_of
from cooperage.tasting.statistics.additive import fit_additive
from cooperage.tasting.statistics.quantiles import student
from cooperage.units import counted

USUAL_TASTERS = 4
_BEYOND = 0.05  # on each side of an interval that holds the truth 90 times in 100
_FOUND = 0.8


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A trial that is not kept yet, and what it will be able to show.

    `terms` has the model, `blends` are different, `checks` of them are beyond what the model needs; `repeated` are the
    glasses poured again. `tasters` are counted on, whose scores stray by `noise` points (as in `flights` flights here,
    0: a guess). Bands are half of what holds the fitted score of a blend 90 times in 100, in points: in the middle of
    all blends, and where it is widest. Two blends that differ by `shows` points are found to differ 8 times in 10.
    """

    trial: Trial
    terms: int
    blends: int
    checks: int
    repeated: int
    tasters: int
    noise: float
    flights: int
    usual_band: float
    widest_band: float
    shows: float
    strays_by_points: float


def shares_of(trial: Trial) -> Floats:
    """Return the proportions of a trial's glasses as they are pipetted, of shape (glasses, stocks)."""
    return np.array([glass.shares for glass in trial.glasses])


def with_precision(trial: Trial, region: Region, poured: Sequence[Flight]) -> TrialPlan:
    """Return a trial with what it will be able to show; raises DesignDoesNotFit once rounding merges its blends."""
    shares = shares_of(trial)
    tasters = len(trial.tasters) or USUAL_TASTERS
    noise, used = panel_noise(trial.scale, poured)
    session = np.array([glass.session for glass in trial.glasses]) - 1
    try:
        found = precision_of(shares, trial.degree, session=session, tasters=tasters)
    except CannotFit as error:
        raise DesignDoesNotFit(
            f"these {len(shares)} glasses lie too near together to fit a {DEGREES[trial.degree]} model; "
            "widen the bounds, take more --blends, a lower --degree, or a smaller --step"
        ) from error
    middle, greatest = found.over(region)
    reach = student(found.residual_df, _BEYOND) * noise
    distinct = np.unique(np.round(shares, 9), axis=0)
    strays = [
        abs(true - planned) for each in trial.glasses for true, planned in zip(each.shares, each.planned, strict=True)
    ]
    terms = len(found.unscaled)
    return TrialPlan(
        trial,
        terms=terms,
        blends=len(distinct),
        checks=len(distinct) - terms,
        repeated=len(shares) - len(distinct),
        tasters=tasters,
        noise=noise,
        flights=used,
        usual_band=reach * middle,
        widest_band=reach * greatest,
        shows=noise * _found_gap(found, distinct),
        strays_by_points=100 * max(strays),
    )


def _found_gap(found: Precision, blends: Floats) -> float:
    """Return how far two blends must differ to be found so 8 times in 10 [noise of a glass]; or NaN.

    It is that of the middle one of all pairs; by halving, to a thousandth.
    """
    first, second = np.triu_indices(len(blends), 1)
    if found.residual_df < 1 or not len(first):
        return math.nan
    errors = found.difference_error(blends[first], blends[second])
    at = int(np.argsort(errors)[len(errors) // 2])
    low, high = 0.0, 20.0 * float(errors[at])
    while high - low > 1e-3 * high:
        gap = (low + high) / 2
        chance = found.chance_found(gap, blends[first[at]], blends[second[at]])[0]
        low, high = (gap, high) if chance < _FOUND else (low, gap)
    return high


def panel_noise(scale: str, poured: Sequence[Flight]) -> tuple[float, int]:
    """Return how far one score of this cellar's panels lies from the glass's own, and from how many flights that is.

    It is the residual standard deviation of revealed flights on the same scale, pooled [points]; a tenth of the scale
    where there is none (common practice, no source).
    """
    tables = [score_table_of(each) for each in poured if not each.is_blind and each.scale == scale]
    fits = [fit_additive(table) for table in tables if table.size]
    known = [fit for fit in fits if fit.degrees > 0 and math.isfinite(fit.residual_ss)]
    degrees = sum(fit.degrees for fit in known)
    if not degrees:
        low, high = bounds(scale)
        return (high - low) / 10, 0
    return math.sqrt(sum(fit.residual_ss for fit in known) / degrees), len(known)


def needed_words(plan: TrialPlan) -> str:
    """Return in a sentence how many glasses the trial takes, and of what they are."""
    trial = plan.trial
    again = f", {plan.repeated} of them poured again" if plan.repeated else ""
    sittings = counted(len(trial.sessions), "session")
    return f"{counted(len(trial.glasses), 'glass', 'glasses')} of {counted(plan.blends, 'blend')}{again}, in {sittings}"
