"""Which barrel loses more than it did, since when, and how sure that is.

Three accounts of a barrel's visits are weighed against each other: it loses as barrels like it do; one visit was odd
(a slip of the pen, a bung left out, a topping that was not full); or from some visit on it loses several times its
own rate. Its own rate is not known, but is like its peers', so each account has a marginal likelihood in closed form,
and the weights are posterior probabilities (Smith (1975), Biometrika 62, 407-416: inference about a change point).
Consecutive visits share the level that was left at the bung, so what one shows too little the next shows too much;
the errors are taken as correlated accordingly.

A leak is as good as sure from a posterior probability on, which bounds how often such an alarm is false (Shiryaev
(1963), Theory Probab. Appl. 8, 22-46). Once sure, it stays so until the visits show as surely that it ended or never
was (`_with_what_was_sure`), so that one good visit does not take an alarm back that the next would raise again.

Weighed are only barrels that are worth it (`worth_a_look`).
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from cooperage.book.replay.state import DAY
from cooperage.programme.losses.loss_rate import SURE_ENOUGH, Leak, Noise
from cooperage.programme.losses.worth_a_look import are_worth_a_look

Floats = NDArray[np.float64]
_Sums = Callable[[Floats], Floats]

# How often barrels begin to leak and visits go wrong, and by how much, is common practice (no source); the planted
# leaks of the benchmark show what the choice leads to.
LEAKS_PER_YEAR = 0.05
ODD_VISITS = 0.02
TIMES = np.array([1.8, 2.5, 3.5, 5.0, 8.0, 13.0, 20.0])
"""How many times its own rate a leaking barrel may lose; each is as likely."""
_ODD_TIMES = 4.0
_SPIKE = 5.0
_SOUND_AGAIN, _NO_FIT = 2, -6.0
_OVER = float(np.log(SURE_ENOUGH / (1 - SURE_ENOUGH)))


@dataclass(frozen=True, slots=True)
class Peers:
    """What barrels like this one lose, as a rate on the same scale as the exposures, and its variance among them."""

    rate: float
    variance: float


@dataclass(frozen=True, slots=True)
class BarrelVisits:
    """One barrel's visits, oldest first, all of shape (visits,): lost [ml], exposures, ends, steps of the jugs [ml].

    Rate x exposure is expected to be lost; a leak adds multiples of rate x `flat`, the exposure that knows no
    season; times are seconds since 1970.
    """

    lost: Floats
    exposure: Floats
    began: Floats
    ended: Floats
    steps: Floats
    flat: Floats

    def without(self, first: int, last: int) -> "BarrelVisits":
        """Return the same without the visits from one up to another."""
        kept = np.r_[0:first, last : len(self.lost)]
        return BarrelVisits(*(getattr(self, each.name)[kept] for each in fields(self)))

    def exposures(self, runs: NDArray[np.bool_]) -> Floats:
        """Return exposures of shape (visits, columns x times) with a leak where it `runs`, shape (visits, columns)."""
        added = np.where(runs[:, :, None], (TIMES - 1) * self.flat[:, None, None], 0.0)
        return np.asarray((self.exposure[:, None, None] + added).reshape(len(self.lost), -1))


def covariance_of(noise: Noise, expected: Floats, began: Floats, ended: Floats, steps: Floats) -> Floats:
    """Return the covariance [ml2] of visits by expected losses [ml], ends and steps of jugs, shape (visits, 2)."""
    matrix = np.diag(noise.variance(expected, steps))
    shared = np.flatnonzero(began[1:] == ended[:-1])
    matrix[shared, shared + 1] = matrix[shared + 1, shared] = -(noise.level_ml**2)
    return matrix


def find_leak(lost: Floats, exposure: Floats, began: Floats, ended: Floats, peers: Peers, noise: Noise) -> Leak | None:
    """Weigh the accounts of one barrel's visits, oldest first, all of shape (visits,); None where no leak is likely.

    `lost` [ml] is expected to be rate x `exposure`. A leak is one that still runs at the last visit.
    """
    return look_for_leak(BarrelVisits(lost, exposure, began, ended, np.zeros_like(lost), exposure), peers, noise)


def look_for_leak(seen: BarrelVisits, peers: Peers, noise: Noise, looked_at: float = 0.0) -> Leak | None:
    """Weigh the accounts where that is worth it; see `weigh_accounts`."""
    if len(seen.lost) == 0 or not are_worth_a_look([seen], [peers], noise)[0]:
        return None
    return weigh_accounts(seen, peers, noise, looked_at)


def weigh_accounts(seen: BarrelVisits, peers: Peers, noise: Noise, looked_at: float = 0.0) -> Leak | None:
    """Weigh the accounts of one barrel's visits; None where a leak that was is over.

    What was sure before the bung was looked at and found tight (`looked_at`, seconds since 1970) is not held on to.
    """
    expected = peers.rate * seen.exposure
    covariance = covariance_of(noise, expected, seen.began, seen.ended, seen.steps)
    _forgive_spikes(covariance, seen.lost - expected)
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    weighed = _weigh(whiten, seen, peers, _sum_of_all)
    if weighed.leak[-1] > 1 - SURE_ENOUGH or weighed.fit < _NO_FIT:  # only then is it of use to know what was before
        weighed = _weigh(whiten, seen, peers, _sums_so_far)
    return _with_what_was_sure(weighed, whiten, seen, peers, noise, looked_at)


def _with_what_was_sure(
    weighed: "_Weighed", whiten: Floats, seen: BarrelVisits, peers: Peers, noise: Noise, looked_at: float
) -> Leak | None:
    """Hold on to a leak that was sure by some visit, unless it is as sure that it is over."""
    sure = np.flatnonzero((weighed.leak >= SURE_ENOUGH) & (seen.ended[-len(weighed.leak) :] >= looked_at))
    if len(sure):
        first = int(weighed.starts[sure[0]])
        over = _over_from(whiten, seen, peers, first, int(sure[0]))
        rest = None if over is None else look_for_leak(seen.without(first, over), peers, noise, looked_at)
        is_sound = rest is None or rest.sure <= 1 - SURE_ENOUGH or rest.from_visit - first >= _SOUND_AGAIN
        if over is not None and is_sound:
            return None if rest is None else replace(rest, from_visit=int(np.searchsorted(seen.began, rest.since)))
    from_visit = int(weighed.starts[-1])
    return Leak(
        float(weighed.leak[-1]),
        float(seen.began[from_visit]),
        from_visit,
        weighed.times,
        weighed.odd,
        float(seen.lost[-1]),
        float(peers.rate * seen.exposure[-1]),
        float(weighed.leak[sure].max()) if len(sure) else 0.0,
    )


@dataclass(frozen=True, slots=True)
class _Weighed:
    """How sure a leak was by each visit and where it began, shape (visits,); how many times and how odd by the last.

    `fit` is how many standard deviations better than on average the likeliest account fits; far below zero, none does.
    """

    leak: Floats
    starts: NDArray[np.int64]
    times: float
    odd: float
    fit: float


def _sums_so_far(values: Floats) -> Floats:
    """Return the sums up to each visit."""
    return np.cumsum(values, axis=0)


def _sum_of_all(values: Floats) -> Floats:
    """Return the sum over all visits, as the only row."""
    return np.asarray(values.sum(axis=0, keepdims=True))


def _weigh(whiten: Floats, seen: BarrelVisits, peers: Peers, sums: _Sums) -> _Weighed:
    """Weigh the accounts by each visit or by the last: whitened from the first on, each needs no more than sums."""
    y, x = whiten @ seen.lost, whiten @ seen.exposure
    sound = _evidence(y, x[:, None], peers, sums)[:, 0]
    odd = _odd_evidence(whiten, y, x, peers.rate * seen.exposure, peers, sums) + np.log(ODD_VISITS)
    leak = _leak_evidence(whiten, y, seen, peers, sums)
    by_start = _log_sum(leak)
    most = np.maximum(sound, np.maximum(odd.max(axis=1), by_start.max(axis=1)))
    of_leak = np.exp(by_start - most[:, None]).sum(axis=1)
    total = np.exp(sound - most) + np.exp(odd - most[:, None]).sum(axis=1) + of_leak
    among = np.exp(leak[-1] - leak[-1].max())  # relative, so that they never all vanish beside another account
    times = float((among.sum(axis=0) * TIMES).sum() / among.sum())
    fit = (2 * float(most[-1]) + len(y)) / (2 * len(y)) ** 0.5  # twice the log likelihood is a chi-square
    is_odd = float(np.exp(odd[-1, -1] - most[-1]) / total[-1])
    return _Weighed(of_leak / total, by_start.argmax(axis=1), times, is_odd, fit)


def _log_sum(values: Floats) -> Floats:
    """Return the logarithm of the sum of exponentials along the last axis; of none but minus infinities, that."""
    most = values.max(axis=-1, keepdims=True)
    most = np.where(np.isfinite(most), most, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.exp(values - most).sum(axis=-1)) + most[..., 0])


def _evidence(y: Floats, x: Floats, peers: Peers, sums: _Sums) -> Floats:
    """Log marginal likelihood of whitened losses for each column of exposures, rate ~ N(peers), up to a constant.

    One row for each that the sums have.
    """
    residual = y[:, None] - peers.rate * x
    spread = 1 + peers.variance * sums(x**2)
    return np.asarray(-0.5 * (sums(residual**2) - peers.variance * sums(x * residual) ** 2 / spread + np.log(spread)))


def _odd_evidence(whiten: Floats, y: Floats, x: Floats, expected: Floats, peers: Peers, sums: _Sums) -> Floats:
    """Return the same with one visit odd: its loss off by some times what was expected, for each visit in turn."""
    size = (_ODD_TIMES * expected) ** 2
    w, r = whiten, (y - peers.rate * x)[:, None]
    x = x[:, None]
    aa, bb, ab = 1 + peers.variance * sums(x**2), 1 + size * sums(w**2), np.sqrt(peers.variance * size) * sums(x * w)
    ra, rb = np.sqrt(peers.variance) * sums(x * r), np.sqrt(size) * sums(r * w)
    both = aa * bb - ab**2
    explained = (bb * ra**2 - 2 * ab * ra * rb + aa * rb**2) / both
    evidence = -0.5 * (sums(r**2) - explained) - 0.5 * np.log(both)
    return np.where(_until(len(y), len(evidence)), evidence, -np.inf)


def _leak_evidence(whiten: Floats, y: Floats, seen: BarrelVisits, peers: Peers, sums: _Sums) -> Floats:
    """Return log weights of shape (rows of sums, starts, times), prior included: begun at each visit so far."""
    visits = len(y)
    evidence = _evidence(y, whiten @ seen.exposures(_until(visits, visits)), peers, sums)
    prior = np.log(LEAKS_PER_YEAR * (seen.ended - seen.began) / (365.25 * DAY) / len(TIMES))
    weights = evidence.reshape(-1, visits, len(TIMES)) + prior[:, None]
    return np.where(_until(visits, len(weights))[:, :, None], weights, -np.inf)


def _until(visits: int, rows: int) -> NDArray[np.bool_]:
    """Return which visits there were by each of the last rows."""
    return np.tri(visits, dtype=bool)[-rows:]


def _over_from(whiten: Floats, seen: BarrelVisits, peers: Peers, since: int, raised: int) -> int | None:
    """Return from which visit on a leak is over that was sure by the visit `raised`; None where that is not as sure.

    That it ended at some visit is weighed against its running still, both as likely before; one good visit is no end.
    """
    visits = len(seen.lost)
    ends = np.append(np.arange(raised + 1, visits - _SOUND_AGAIN + 1), visits)  # the last is no end
    if len(ends) == 1:
        return None
    at = np.arange(visits)[:, None]
    columns = whiten @ seen.exposures((at >= since) & (at < ends))
    by_end = _log_sum(_evidence(whiten @ seen.lost, columns, peers, _sum_of_all).reshape(len(ends), len(TIMES)))
    if _log_sum(by_end[:-1]) - np.log(len(ends) - 1) - by_end[-1] < _OVER:
        return None
    return int(ends[by_end[:-1].argmax()])


def _forgive_spikes(covariance: Floats, residual: Floats) -> None:
    """Give a lone odd visit in the past little weight, so that it neither hides a leak nor makes one."""
    z = residual / np.sqrt(np.diag(covariance))
    for i in range(len(z) - 2):
        beside = [abs(z[j]) for j in (i - 1, i + 1) if j >= 0]
        if abs(z[i]) > _SPIKE and max(beside) < abs(z[i]) / 3:
            covariance[i, i] += residual[i] ** 2
