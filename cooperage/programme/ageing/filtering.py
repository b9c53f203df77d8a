"""Where readings and time meet: each vessel's figure and its own rate, carried from reading to reading.

Two things are unknown of a vessel: the figure and how its rate differs from what is usual for its like. Time carries
the figure on and adds doubt; a reading corrects both in proportion to what is doubtful (Kalman (1960), J. Basic Eng.
82, 35-45; for the rate, which enters through an exponential, linearised: Jazwinski (1970), Stochastic Processes and
Filtering Theory, ch. 8). How the result would move with what is usual is carried along, which is what the fit needs
(Gupta and Mehra (1974), IEEE Trans. Autom. Control 19, 774-783).
"""

from dataclasses import dataclass, replace

import numpy as np

from cooperage.programme.ageing.models import Ageing
from cooperage.programme.ageing.trails import Flags, Floats, Step, Trails

MONTH = 365.25 / 12
FAR = 2.5
"""A reading this many standard deviations off counts less and less (Huber (1964), Ann. Math. Stat. 35, 73-101)."""
_AS_CAME = 1.5
"""A figure that came with the mead is this much less sure than one measured here (common practice, no source)."""
_UNSETTLED = 10.0  # doubt of what was just added, as a share of it: such a reading tells of the figure alone


@dataclass(frozen=True)
class Usual:
    """What is usual: coefficients of shape (p + 2,).

    They are those of the columns of each vessel, then the share that racking leaves and the share of additions found.

    `of_vessel` is the standard deviation of rates among vessels that are alike, `scale` how large the errors of
    readings are against what the readings claim. A reading more than `far` standard deviations off counts less.
    """

    coefficients: Floats
    of_vessel: float
    scale: float = 1.0
    far: float = FAR


@dataclass
class _Carried:
    """What is carried along for n vessels: figure and rate, their variances, and how both move with the usual.

    The figure counts only where it `is_known`. `as_read` is the figure as it was last read, carried on by hands alone.
    """

    is_known: Flags
    as_read: Floats
    value: Floats
    rate: Floats
    vv: Floats
    vr: Floats
    rr: Floats
    value_by: Floats
    rate_by: Floats


@dataclass(frozen=True)
class Passed:
    """How the readings of n vessels agree with the model, and where it leaves each; arrays of shape (n,).

    `value` is NaN where nothing is known, `rate` the vessel's own; `vv`, `vr` and `rr` are their variances and
    covariance, `value_by` and `rate_by`, of shape (n, p + 2), how both move with what is usual. `normal` and `score`
    are the sums for one Gauss-Newton step of the coefficients; `squares` and `count` the squared errors in standard
    deviations and their number, `likelihood` the logarithm of it. `errors` sums how far the readings came from what was
    carried on, `errors_as_read` from the figure as last read.
    """

    value: Floats
    rate: Floats
    vv: Floats
    vr: Floats
    rr: Floats
    value_by: Floats
    rate_by: Floats
    normal: Floats
    score: Floats
    squares: float
    count: int
    likelihood: float
    errors: float
    errors_as_read: float

    def doubting(self, covariance: Floats) -> "Passed":
        """Return the same with the doubt of what is usual added, of shape (p + 2, p + 2)."""
        value_by, rate_by = self.value_by @ covariance, self.rate_by @ covariance
        return replace(
            self,
            vv=self.vv + (value_by * self.value_by).sum(axis=1),
            vr=self.vr + (value_by * self.rate_by).sum(axis=1),
            rr=self.rr + (rate_by * self.rate_by).sum(axis=1),
        )


def carry_on(trails: Trails, columns: Floats, ageing: Ageing, usual: Usual) -> Passed:
    """Carry n vessels through their readings up to now; `columns` has shape (n, p), a vessel's like in each row."""
    n, p = columns.shape
    size = p + 2
    nothing = np.zeros(n)
    unmoved = np.zeros((n, size))
    rates = np.full(n, usual.of_vessel**2)
    held = _Carried(np.zeros(n, dtype=bool), nothing, nothing, nothing, nothing, nothing, rates, unmoved, unmoved)
    normal, score, squares, count, likelihood = np.zeros((size, size)), np.zeros(size), 0.0, 0, 0.0
    errors = errors_as_read = 0.0
    for step in trails.steps:
        held = _begun(held, step.begins, step.came, _AS_CAME * step.doubt, usual, usual.coefficients[-2])
        held = _age(held, step, columns, ageing, usual)
        is_read = ~np.isnan(step.value)
        compared = is_read & held.is_known
        is_first = is_read & ~held.is_known
        if compared.any():
            error, spread = _errors(held, step, usual)
            by = held.value_by[compared]
            e, s = error[compared], spread[compared]
            normal += (by / s[:, None]).T @ by
            score += by.T @ (e / s)
            squares += float(np.minimum(e**2 / s, usual.far**2).sum())
            count += int(compared.sum())
            errors += float(np.abs(e).sum())
            errors_as_read += float(np.abs(step.value - held.as_read)[compared].sum())
            likelihood -= 0.5 * float((np.log(s) + e**2 / s).sum())
        held = _corrected(held, step, usual, compared)
        held = _begun(held, is_first, step.value, step.doubt, usual)
    value = np.where(held.is_known, held.value, np.nan)
    rate, rate_by = columns @ usual.coefficients[:-2] + held.rate, held.rate_by.copy()
    rate_by[:, :-2] += columns
    left = (value, rate, held.vv, held.vr, held.rr, held.value_by, rate_by)
    return Passed(*left, normal, score, squares, count, likelihood, errors, errors_as_read)


def _age(held: _Carried, step: Step, columns: Floats, ageing: Ageing, usual: Usual) -> _Carried:
    """Let time pass: what there was and what was added each age by the vessel's rate."""
    rate = columns @ usual.coefficients[:-2] + held.rate
    share = usual.coefficients[-1]
    added = share * step.added
    if ageing.fades:
        a_day = np.exp(np.minimum(rate, 0.0))
        left, added_left = np.exp(-a_day * step.age), np.exp(-a_day * step.added_age)
        value = step.kept * held.value * left + added * added_left
        by_value = step.kept * left
        by_rate = -a_day * (step.age * step.kept * held.value * left + step.added_age * added * added_left)
        by_share = step.added * added_left
    else:
        value = step.kept * held.value + added + rate * step.age
        by_value, by_rate, by_share = step.kept, step.age, step.added
    unsettled = np.where((step.added > 0) & (step.added_age < ageing.settles), _UNSETTLED, ageing.stays_doubt)
    wander = ageing.wander**2 * step.age / MONTH
    grown = by_value**2 * held.vv + 2 * by_value * by_rate * held.vr + by_rate**2 * held.rr
    grown += (unsettled * by_share) ** 2 + wander
    value_by = by_value[:, None] * held.value_by + by_rate[:, None] * held.rate_by
    value_by[:, :-2] += by_rate[:, None] * columns
    value_by[:, -1] += by_share
    vr = by_value * held.vr + by_rate * held.rr
    as_read = step.kept * held.as_read + step.added
    return _Carried(held.is_known, as_read, value, held.rate, grown, vr, held.rr, value_by, held.rate_by)


def _errors(held: _Carried, step: Step, usual: Usual) -> tuple[Floats, Floats]:
    """Return how far readings lie from what was carried on, and the variance of that; far ones count as less sure."""
    error = step.value - held.value
    spread = held.vv + (usual.scale * step.doubt) ** 2
    return error, spread * np.maximum(1.0, np.abs(error) / (usual.far * np.sqrt(spread)))


def _corrected(held: _Carried, step: Step, usual: Usual, compared: Flags) -> _Carried:
    """Correct figure and rate by a reading, where there is one to compare."""
    error, spread = _errors(held, step, usual)
    of_value = np.where(compared, held.vv / spread, 0.0)
    of_rate = np.where(compared, held.vr / spread, 0.0)
    error = np.where(compared, error, 0.0)
    vv = np.where(compared, held.vv * (1 - of_value), held.vv)
    return _Carried(
        held.is_known,
        np.where(compared, step.value, held.as_read),
        held.value + of_value * error,
        held.rate + of_rate * error,
        vv,
        held.vr * (1 - of_value),
        held.rr - of_rate * held.vr,
        held.value_by * (1 - of_value)[:, None],
        held.rate_by - of_rate[:, None] * held.value_by,
    )


def _begun(
    held: _Carried, anew: Flags, value: Floats, doubt: Floats, usual: Usual, poured: float | None = None
) -> _Carried:
    """Begin anew with a value where `anew`; NaN makes the figure unknown. What was learned of the rate stays.

    `poured` is the share of it that racking left, where it came that way.
    """
    is_given = anew & ~np.isnan(value)
    value_by = np.where(anew[:, None], 0.0, held.value_by)
    if poured is not None:
        value_by[is_given, -2] = value[is_given]
    return _Carried(
        np.where(anew, is_given, held.is_known),
        np.where(is_given, value, held.as_read),
        np.where(is_given, value * (1.0 if poured is None else poured), held.value),
        held.rate,
        np.where(is_given, (usual.scale * doubt) ** 2, held.vv),
        np.where(anew, 0.0, held.vr),
        held.rr,
        value_by,
        held.rate_by,
    )
