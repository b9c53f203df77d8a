"""How good forecasts were, by property: error, bias, how often the bands held, a proper score, against as last read."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, pi, sqrt
from statistics import NormalDist, fmean

from cooperage.programme.ageing.scoring.scored import ForecastOutcome

PROBABILITIES = (0.5, 0.8, 0.95)
_STANDARD = NormalDist()


@dataclass(frozen=True, slots=True)
class ForecastScore:
    """How the forecasts of one property did, in its unit.

    `bias` is forecast less what came. `held` is how often the bands of `PROBABILITIES` held what came. `crps` is the
    mean continuous ranked probability score, which falls the nearer and the surer a forecast was; for the figure as
    last read, given without a band, it is `last_error`.
    """

    name: str
    count: int
    error: float
    bias: float
    held: tuple[float, ...]
    crps: float
    last_error: float
    last_bias: float

    @property
    def is_better(self) -> bool:
        """True if it came nearer than the figure as last read."""
        return self.error < self.last_error


def scores(outcomes: Iterable[ForecastOutcome]) -> list[ForecastScore]:
    """ForecastScore what came of forecasts, by property, in the order in which they first came."""
    by_name: dict[str, list[ForecastOutcome]] = defaultdict(list)
    for outcome in outcomes:
        by_name[outcome.name].append(outcome)
    return [_score(name, each) for name, each in by_name.items()]


def _score(name: str, outcomes: Sequence[ForecastOutcome]) -> ForecastScore:
    errors = [each.forecast - each.came for each in outcomes]
    last = [each.as_last_read - each.came for each in outcomes]
    return ForecastScore(
        name,
        len(outcomes),
        fmean(map(abs, errors)),
        fmean(errors),
        tuple(_held(outcomes, probability) for probability in PROBABILITIES),
        fmean(crps_normal(each.came, each.forecast, each.sd) for each in outcomes),
        fmean(map(abs, last)),
        fmean(last),
    )


def _held(outcomes: Sequence[ForecastOutcome], probability: float) -> float:
    reach = _STANDARD.inv_cdf(0.5 + probability / 2)
    return fmean(abs(each.forecast - each.came) <= reach * each.sd for each in outcomes)


def crps_normal(came: float, mean: float, sd: float) -> float:
    """Return the continuous ranked probability score of a normal forecast, in the unit of what came.

    Without doubt it is the absolute error. Source: Gneiting and Raftery (2007), J. Am. Stat. Assoc. 102, 359-378.
    """
    if sd <= 0:
        return abs(came - mean)
    z = (came - mean) / sd
    density = exp(-z * z / 2) / sqrt(2 * pi)
    return sd * (z * (2 * _STANDARD.cdf(z) - 1) + 2 * density - 1 / sqrt(pi))
