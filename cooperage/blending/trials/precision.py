"""What a trial will be able to tell, from its design and how far apart this cellar's tasters usually score."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cooperage.blending.mixture.scheffe import scheffe_terms
from cooperage.blending.stocks.pool import Floats
from cooperage.blending.trials.design import check_separates
from cooperage.blending.trials.trial import Trial
from cooperage.tasting.flights import Flight, bounds, score_table_of
from cooperage.tasting.statistics.additive import fit_additive
from cooperage.tasting.statistics.quantiles import student
from cooperage.units import counted

USUAL_TASTERS = 4
_BEYOND = 0.05  # on each side of an interval that holds the truth 90 times in 100


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A trial that is not kept yet, and what it will be able to tell.

    `terms` has the model, `blends` are different, `checks` of them are beyond what the model needs; `repeated` are the
    glasses poured again. `tasters` are counted on, whose one score is known to `noise` points (from `flights` flights,
    0: a guess). Bands are half of what holds the truth 90 times in 100, in points: of the surface where it is known
    best and least, and of a difference of two blends of the design.
    """

    trial: Trial
    terms: int
    blends: int
    checks: int
    repeated: int
    tasters: int
    noise: float
    flights: int
    best_known: float
    least_known: float
    shows: float
    strays_by_points: float


def shares_of(trial: Trial) -> Floats:
    """Return the proportions of a trial's glasses as they are pipetted, of shape (glasses, stocks)."""
    return np.array([glass.shares for glass in trial.glasses])


def model_matrix(shares: Floats, degree: int) -> Floats:
    """Return the columns of a trial's model at blends, of shape (blends, terms)."""
    return np.column_stack(list(scheffe_terms(shares, degree).values()))


def with_precision(trial: Trial, poured: Sequence[Flight]) -> TrialPlan:
    """Return a trial with what it will be able to tell; raises DesignDoesNotFit once rounding merges its blends."""
    shares = shares_of(trial)
    check_separates(shares, trial.degree)
    matrix = model_matrix(shares, trial.degree)
    tasters = len(trial.tasters) or USUAL_TASTERS
    noise, used = panel_noise(trial.scale, poured)
    spread = np.linalg.inv(matrix.T @ matrix) / tasters * noise**2
    distinct = np.unique(np.round(shares, 9), axis=0)
    rows = model_matrix(distinct, trial.degree)
    known = np.sqrt(np.einsum("ij,jk,ik->i", rows, spread, rows))
    gaps = [
        math.sqrt(max((a - b) @ spread @ (a - b), 0.0)) for at, a in enumerate(rows) for b in rows[at + 1 :]
    ]
    degrees = len(shares) * tasters - matrix.shape[1] - (tasters - 1) - (len(trial.sessions) - 1)
    reach = _reach(degrees)
    strays = max(
        abs(true - planned)
        for glass in trial.glasses
        for true, planned in zip(glass.shares, glass.planned, strict=True)
    )
    return TrialPlan(
        trial,
        terms=matrix.shape[1],
        blends=len(distinct),
        checks=len(distinct) - matrix.shape[1],
        repeated=len(shares) - len(distinct),
        tasters=tasters,
        noise=noise,
        flights=used,
        best_known=reach * float(known.min()),
        least_known=reach * float(known.max()),
        shows=reach * float(np.median(gaps)) if gaps else math.nan,
        strays_by_points=100 * strays,
    )


def _reach(degrees: int) -> float:
    """Return how many standard errors hold the truth 90 times in 100; NaN where no score is left to judge by."""
    return student(degrees, _BEYOND) if degrees > 0 else math.nan


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
