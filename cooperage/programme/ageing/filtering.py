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
from cooperage.programme.ageing.passage import Doubt, Varies, doubt_after, moved
from cooperage.programme.ageing.side_by_side import Flags, Floats, Step, Trails

FAR = 2.5
"""A reading this many standard deviations off counts less and less (Huber (1964), Ann. Math. Stat. 35, 73-101)."""
_JUMP = 1.6
"""This many times as far off, in one reading or two the same way, the reading is a new beginning."""
_FARTHEST = 5.0
"""After such a jump a vessel's drift is thought to be at most this many spreads from its like's."""
_RACKED = 0.5  # more of it than so was racked


@dataclass(frozen=True)
class UsualAgeing:
    """What is usual: coefficients of shape (p + 2,).

    They are those of the columns of each vessel, then what a racking takes and the share of additions found.

    `of_vessel` is the standard deviation of rates among vessels that are alike, `takes_varies` that of what
    racking takes, from one racking to the next, `of_fill` that of what filling a vessel
    changes, `wander` that of what else happens in a month, `rate_varies`
    that of a vessel's rate from one stretch to the next. `scale` is how large the errors of readings are against what
    the readings claim. A reading more than `far` standard deviations off counts less.
    """

    coefficients: Floats
    of_vessel: float
    scale: float = 1.0
    far: float = FAR
    takes_varies: float = 0.0
    of_fill: float = 0.0
    wander: float = 0.0
    rate_varies: float = 0.0


@dataclass
class Carried:
    """What is carried along for n vessels: figure and rate, their variances, and how both move with the usual.

    The figure counts only where it `is_known`. `as_read` is the figure as it was last read, carried on by hands alone.
    `strain` is how many standard deviations the last reading was off.
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
    strain: Floats


@dataclass(frozen=True)
class Passed:
    """How the readings of n vessels agree with the model, and where it leaves each; arrays of shape (n,).

    `value` is NaN where nothing is known, `rate` the vessel's own; `vv`, `vr` and `rr` are their variances and
    covariance, `value_by` and `rate_by`, of shape (n, p + 2), how both move with what is usual. `normal` and `score`
    are the sums for one Gauss-Newton step of the coefficients, over `count` readings, `likelihood` the logarithm of it.
    `squares` are the squared errors in standard deviations of `count_of_squares` readings, each counted by the part of
    its doubt that is the reading's; those before which something happened that might pass for an error of reading, as
    what a racking took does, or a jump, are left out. `errors` sums how far the readings came from what was carried on,
    `errors_as_read` from the figure as last read. `reached` is where the readings left them, before the last step.
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
    count_of_squares: float
    count: int
    likelihood: float
    errors: float
    errors_as_read: float
    reached: Carried

    def doubting(self, covariance: Floats) -> "Passed":
        """Return the same with the doubt of what is usual added, of shape (p + 2, p + 2)."""
        value_by, rate_by = self.value_by @ covariance, self.rate_by @ covariance
        return replace(
            self,
            vv=self.vv + (value_by * self.value_by).sum(axis=1),
            vr=self.vr + (value_by * self.rate_by).sum(axis=1),
            rr=self.rr + (rate_by * self.rate_by).sum(axis=1),
        )


def carry_on(trails: Trails, columns: Floats, ageing: Ageing, usual: UsualAgeing) -> Passed:
    """Carry n vessels through their readings up to now; `columns` has shape (n, p), a vessel's like in each row."""
    n, p = columns.shape
    size = p + 2
    nothing, unmoved = np.zeros(n), np.zeros((n, size))
    rates, never = np.full(n, usual.of_vessel**2), np.zeros(n, dtype=bool)
    held = Carried(never, nothing, nothing, nothing, nothing, nothing, rates, unmoved, unmoved, nothing)
    normal, score, squares, likelihood = np.zeros((size, size)), np.zeros(size), 0.0, 0.0
    count, count_of_squares = 0, 0.0
    errors = errors_as_read = 0.0
    reached = held
    for step in trails.steps:
        reached = held
        if step.begins.any():
            held = _begun(held, step.begins, step.came, step.doubt, usual, varies=usual.of_fill)
            if ageing.to_room:  # it may come from the room alone
                held.as_read = np.where(step.begins, np.nan, held.as_read)
        held = _age(held, step, columns, ageing, usual)
        is_read = ~np.isnan(step.value)
        compared = is_read & held.is_known
        is_first = is_read & ~held.is_known
        error, spread, strain = _errors(held, step, usual, compared)
        is_jump = _jumps(strain, held.strain, usual)
        if compared.any():
            by = held.value_by[compared]
            e, s = error[compared], spread[compared]
            normal += (by / s[:, None]).T @ by
            score += by.T @ (e / s)
            is_plain = ~is_jump & ((ageing.takes == 0) | (step.racked < _RACKED))
            weight = (is_plain * (usual.scale * step.doubt) ** 2)[compared] / s
            squares += float((weight * np.minimum(e**2 / s, usual.far**2)).sum())
            count_of_squares += float(weight.sum())
            read_before = compared & ~np.isnan(held.as_read)
            count += int(read_before.sum())
            errors += float(np.abs(error[read_before]).sum())
            errors_as_read += float(np.abs(step.value - held.as_read)[read_before].sum())
            likelihood -= 0.5 * float((np.log(s) + e**2 / s).sum())
        sure = held.vv + (usual.scale * step.doubt) ** 2  # against what came with the mead the reading is believed
        held = _corrected(held, step, error, np.where(step.begins, sure, spread), compared & ~is_jump)
        if is_jump.any() and not ageing.fades:
            held = _of_open_rate(held, is_jump, step, ageing, usual)
        if (starts := is_first | is_jump).any():
            held = _begun(held, starts, step.value, step.doubt, usual)
        held.strain = np.where(is_read, np.where(is_jump, 0.0, strain), held.strain)
    value = np.where(held.is_known, held.value, np.nan)
    rate, rate_by = columns @ usual.coefficients[:-2] + held.rate, held.rate_by.copy()
    rate_by[:, :-2] += columns
    left = (value, rate, held.vv, held.vr, held.rr, held.value_by, rate_by)
    return Passed(*left, normal, score, squares, count_of_squares, count, likelihood, errors, errors_as_read, reached)


def _age(held: Carried, step: Step, columns: Floats, ageing: Ageing, usual: UsualAgeing) -> Carried:
    """Let time pass: what there was and what was added each age by the vessel's rate, racking takes its part."""
    rate, stretch = columns @ usual.coefficients[:-2] + held.rate, step.stretch
    takes, share = (float(each) for each in usual.coefficients[-2:])
    to = moved(ageing, stretch, held.value, rate, share, takes, np)
    doubt = Doubt(held.vv, held.vr, held.rr)
    vv, vr, _ = doubt_after(ageing, stretch, to, doubt, Varies(usual.wander, usual.rate_varies, usual.takes_varies))
    value_by = to.by_value[:, None] * held.value_by + to.by_rate[:, None] * held.rate_by
    value_by[:, :-2] += to.by_rate[:, None] * columns
    value_by[:, -2] += to.by_takes
    value_by[:, -1] += to.by_share
    as_read = step.kept * held.as_read + step.added
    return replace(held, as_read=as_read, value=to.value, vv=vv, vr=vr, value_by=value_by)


def _errors(held: Carried, step: Step, usual: UsualAgeing, compared: Flags) -> tuple[Floats, Floats, Floats]:
    """Return how far readings lie from what was carried on, the variance of that, and how many deviations that is.

    The variance of far ones is widened, so that they count as less sure; no deviations are where none is `compared`.
    """
    error, spread = step.value - held.value, held.vv + (usual.scale * step.doubt) ** 2
    strain = error / np.sqrt(spread)
    return error, spread * np.maximum(1.0, np.abs(strain) / usual.far), np.where(compared, strain, 0.0)


def _jumps(strain: Floats, before: Floats, usual: UsualAgeing) -> Flags:
    """Return where something happened that the book does not know: one reading is far off, or two the same way are."""
    far = _JUMP * usual.far
    return (np.abs(strain) > far) | ((strain * before > 0) & (np.abs(strain + before) > far))


def _corrected(held: Carried, step: Step, error: Floats, spread: Floats, compared: Flags) -> Carried:
    """Correct figure and rate by a reading, where there is one to compare."""
    of_value = np.where(compared, held.vv / spread, 0.0)
    of_rate = np.where(compared, held.vr / spread, 0.0)
    error = np.where(compared, error, 0.0)
    vv = np.where(compared, held.vv * (1 - of_value), held.vv)
    return Carried(
        held.is_known,
        np.where(compared, step.value, held.as_read),
        held.value + of_value * error,
        held.rate + of_rate * error,
        vv,
        held.vr * (1 - of_value),
        held.rr - of_rate * held.vr,
        held.value_by * (1 - of_value)[:, None],
        held.rate_by - of_rate[:, None] * held.value_by,
        held.strain,
    )


def _of_open_rate(held: Carried, is_jump: Flags, step: Step, ageing: Ageing, usual: UsualAgeing) -> Carried:
    """Let a jump leave it open whether the figure goes on like that: the rate may be as far from usual as it showed."""
    shown = np.abs(step.value - held.value) / np.maximum(step.age, 1.0)
    farthest = np.minimum(shown, max(ageing.fastest, _FARTHEST * usual.of_vessel))
    return replace(held, rr=np.where(is_jump, np.maximum(held.rr, farthest**2), held.rr))


def _begun(
    held: Carried,
    starts: Flags,
    value: Floats,
    doubt: Floats,
    usual: UsualAgeing,
    *,
    varies: float = 0.0,
) -> Carried:
    """Start again with a value where it `starts`; NaN makes the figure unknown. What was learned of the rate stays.

    What comes with the mead `varies` besides, as one standard deviation.
    """
    is_given = starts & ~np.isnan(value)
    return Carried(
        np.where(starts, is_given, held.is_known),
        np.where(is_given, value, held.as_read),
        np.where(is_given, value, held.value),
        held.rate,
        np.where(is_given, (usual.scale * doubt) ** 2 + varies**2, held.vv),
        np.where(starts, 0.0, held.vr),
        held.rr,
        np.where(starts[:, None], 0.0, held.value_by),
        held.rate_by,
        held.strain,
    )
