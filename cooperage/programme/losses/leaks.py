"""Which barrel loses more than it did, since when, and how sure that is.

Three accounts of a barrel's visits are weighed against each other: it loses as barrels like it do; one visit was odd
(a slip of the pen, a bung left out, a topping that was not full); or from some visit on it loses several times its
own rate. Its own rate is not known, but is like its peers', so each account has a marginal likelihood in closed form,
and the weights are posterior probabilities (Smith (1975), Biometrika 62, 407-416: inference about a change point).
Consecutive visits share the level that was left at the bung, so what one shows too little the next shows too much;
the errors are taken as correlated accordingly.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cooperage.book.replay.state import DAY

Floats = NDArray[np.float64]

# How often barrels begin to leak and visits go wrong, and by how much, is common practice (no source); the planted
# leaks of the benchmark show what the choice leads to.
LEAKS_PER_YEAR = 0.05
ODD_VISITS = 0.02
TIMES = np.array([1.8, 2.5, 3.5, 5.0, 8.0, 13.0, 20.0])
"""How many times its own rate a leaking barrel may lose; each is as likely."""
_ODD_TIMES = 4.0
_SPIKE = 5.0
_RECENT = 3
_WORTH_A_LOOK = 1.35


@dataclass(frozen=True, slots=True)
class Leak:
    """A barrel out of line: how sure [0 to 1], since when [seconds since 1970], from which visit, how many times.

    `odd` is how sure it is that the last visit alone was odd; `lost_ml` and `expected_ml` are what it showed and should
    have shown.
    """

    probability: float
    since: float
    from_visit: int
    times: float
    odd: float
    lost_ml: float
    expected_ml: float

    @property
    def is_likely(self) -> bool:
        """Return True if a leak is more likely than not, so that the barrel's rate is taken for one."""
        return self.probability > 0.5


@dataclass(frozen=True, slots=True)
class Noise:
    """How visits scatter: error of a level at the bung [ml], and of a visit's loss as a share of it."""

    level_ml: float
    share: float

    def covariance(self, expected: Floats, began: Floats, ended: Floats) -> Floats:
        """Return the covariance [ml2] of visits whose expected losses [ml] and ends are given, shape (visits, 2)."""
        level = self.level_ml**2
        matrix = np.diag(2 * level + (self.share * expected) ** 2)
        shared = np.flatnonzero(began[1:] == ended[:-1])
        matrix[shared, shared + 1] = matrix[shared + 1, shared] = -level
        return matrix


USUAL_NOISE = Noise(60.0, 0.1)
"""Noise until the cellar's own visits show another: a jug that shows 50 ml, a bung that is not level (no source)."""


@dataclass(frozen=True, slots=True)
class Peers:
    """What barrels like this one lose, as a rate on the same scale as the exposures, and its variance among them."""

    rate: float
    variance: float


def find_leak(lost: Floats, exposure: Floats, began: Floats, ended: Floats, peers: Peers, noise: Noise) -> Leak | None:
    """Weigh the accounts of one barrel's visits, oldest first, all of shape (visits,); None where no leak is likely.

    `lost` [ml] is expected to be rate x `exposure`. A leak is one that still runs at the last visit.
    """
    expected = peers.rate * exposure
    recent = slice(-_RECENT, None)
    if len(lost) == 0 or max(lost[-1] / expected[-1], lost[recent].sum() / expected[recent].sum()) < _WORTH_A_LOOK:
        return None
    covariance = noise.covariance(expected, began, ended)
    _forgive_spikes(covariance, lost - expected)
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    y, x = whiten @ lost, whiten @ exposure
    years = (ended - began) / (365.25 * DAY)
    sound = float(_evidence(y, x[:, None], peers)[0])
    odd = _odd_evidence(whiten, y, x, expected, peers) + np.log(ODD_VISITS)
    leak, starts = _leak_evidence(whiten, y, exposure, years, peers)
    most = max(sound, float(odd.max()), float(leak.max()))
    weights = np.exp(leak - most)
    total = float(np.exp(sound - most) + np.exp(odd - most).sum() + weights.sum())
    among = np.exp(leak - leak.max())  # against each other, so that they never all vanish beside another account
    from_visit = int(starts[among.sum(axis=1).argmax()])
    times = float((among.sum(axis=0) * TIMES).sum() / among.sum())
    return Leak(
        float(weights.sum()) / total,
        float(began[from_visit]),
        from_visit,
        times,
        float(np.exp(odd[-1] - most)) / total,
        float(lost[-1]),
        float(expected[-1]),
    )


def _evidence(y: Floats, x: Floats, peers: Peers) -> Floats:
    """Log marginal likelihood of whitened losses for each column of exposures, up to a constant; rate ~ N(peers)."""
    residual = y[:, None] - peers.rate * x
    spread = 1 + peers.variance * (x**2).sum(axis=0)
    lean = (x * residual).sum(axis=0)
    return np.asarray(-0.5 * ((residual**2).sum(axis=0) - peers.variance * lean**2 / spread) - 0.5 * np.log(spread))


def _odd_evidence(whiten: Floats, y: Floats, x: Floats, expected: Floats, peers: Peers) -> Floats:
    """Return the same with one visit odd: its loss off by some times what was expected, for each visit in turn."""
    size = (_ODD_TIMES * expected) ** 2
    w, r = whiten, y - peers.rate * x
    aa, bb, ab = 1 + peers.variance * (x @ x), 1 + size * (w**2).sum(axis=0), np.sqrt(peers.variance * size) * (x @ w)
    ra, rb = np.sqrt(peers.variance) * (x @ r), np.sqrt(size) * (r @ w)
    both = aa * bb - ab**2
    explained = (bb * ra**2 - 2 * ab * ra * rb + aa * rb**2) / both
    return np.asarray(-0.5 * (r @ r - explained) - 0.5 * np.log(both))


def _leak_evidence(
    whiten: Floats, y: Floats, exposure: Floats, years: Floats, peers: Peers
) -> tuple[Floats, NDArray[np.int64]]:
    """Return log weights of shape (starts, times), prior included, and the visits at which the leak may have begun."""
    visits = len(y)
    starts = np.arange(visits)
    from_there = np.arange(visits)[:, None] >= starts[None, :]
    columns = exposure[:, None, None] * np.where(from_there[:, :, None], TIMES[None, None, :], 1.0)
    evidence = _evidence(y, whiten @ columns.reshape(visits, -1), peers).reshape(visits, len(TIMES))
    prior = np.log(LEAKS_PER_YEAR * years / len(TIMES))
    return evidence + prior[:, None], starts


def _forgive_spikes(covariance: Floats, residual: Floats) -> None:
    """Give a lone odd visit in the past little weight, so that it neither hides a leak nor makes one."""
    z = residual / np.sqrt(np.diag(covariance))
    for i in range(len(z) - 2):
        beside = [abs(z[j]) for j in (i - 1, i + 1) if j >= 0]
        if abs(z[i]) > _SPIKE and max(beside) < abs(z[i]) / 3:
            covariance[i, i] += residual[i] ** 2
