"""How much of its effect a barrel's wood has left, by its fills and days in wood, and by what the panel scored.

Before any score the ceilings by fill stand (`liquid/wood.py`). Scores then move the barrel they are of, and those like
it: barrels of one wood and toast, and barrels at the same fill. The model is score = base + slope x percent drawn x
(1 + deviation), where a deviation is of the barrel, of its wood and toast, and of its fill. Deviations are predicted
best linear unbiased with the base and the slope unknown, so a slope that is poorly known leaves them doubtful.

Source: Robinson (1991), That BLUP is a good thing, Stat. Sci. 6, 15-32; spread between barrels as in `liquid/wood.py`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from cooperage.liquid.wood import AREA_225, BETWEEN_BARRELS, wood_drawn, wood_extraction, wood_left

BAND = 1.645
"""Standard deviations on either side of a band that holds 90 times of 100."""
WOODS_DIFFER = 0.2
"""Spread between woods and toasts of one name, as a share (common practice, no source): toasts are not standard."""
LEAST_SD = 3.0
"""No figure of wood is surer than this [% of a new barrel] (common practice, no source)."""
FEWEST_SCORES = 4
_SURE_SLOPE = 2.0  # standard errors above nothing from which scores follow the wood
_STEPS = 6
_INFORMED = 0.99

BY_FILL = "by its fills and days in wood; no scores"
NOT_FOLLOWED = "by its fills and days in wood; scores do not follow the wood"
BY_OTHERS = "by its fills and days in wood, and scores of barrels like it"


@dataclass(frozen=True, slots=True)
class WoodScore:
    """What a panel scored of the wood in one barrel at one fill, after so many days, and one standard deviation."""

    barrel: str
    fill: int
    days: float
    score: float
    sd: float


@dataclass(frozen=True, slots=True)
class WoodUse:
    """A barrel as its wood is used: fills drawn from it in all, the present or last fill, its wood and toast."""

    used: float
    fill: int
    kind: tuple[str, str] = ("", "")
    area_cm2_l: float = AREA_225


@dataclass(frozen=True, slots=True)
class EffectLeft:
    """What a barrel's wood gives its next fill [% of what it gave new], a band that holds 90 times of 100.

    `scores` is how many of its own it rests on; `basis` is how it was got.
    """

    percent: float
    low: float
    high: float
    scores: int = 0
    basis: str = BY_FILL

    @property
    def sd(self) -> float:
        """One standard deviation [%], by the wider side of the band: the other may end at nothing, or at 100."""
        return max(LEAST_SD, max(self.high - self.percent, self.percent - self.low) / BAND)

    def chance_below(self, percent: float) -> float:
        """Return the chance that less than this is left."""
        return 0.5 * (1 + erf((percent - self.percent) / (self.sd * sqrt(2))))


def fills_used(before: int, days: Iterable[float]) -> float:
    """Return how many fills' worth was drawn: those before it came count whole, those since by their days in wood."""
    return before + sum(float(wood_drawn(min(each, 7300.0))) for each in days)


def effect_left(uses: Mapping[str, WoodUse], scores: Sequence[WoodScore] = ()) -> dict[str, EffectLeft]:
    """Return what is left in each barrel's wood, by tag; scores of barrels that are not among them are left out."""
    known = [each for each in scores if each.barrel in uses]
    deviations = _deviations(uses, known) if len(known) >= FEWEST_SCORES else None
    counts = {tag: sum(each.barrel == tag for each in known) for tag in uses}
    found = {}
    for tag, use in uses.items():
        shift, sd = (0.0, _prior_sd(use)) if deviations is None else deviations[tag]
        if deviations is None:
            basis = NOT_FOLLOWED if len(known) >= FEWEST_SCORES else BY_FILL
        else:
            basis = _by_scores(counts[tag], sd / _prior_sd(use))
        found[tag] = _left(use, shift, sd, counts[tag] if deviations is not None else 0, basis)
    return found


def _by_scores(count: int, still_open: float) -> str:
    """Return what it rests on: `still_open` is the part of the doubt before any score that is left."""
    if not count:
        return BY_OTHERS if still_open < _INFORMED else BY_FILL
    return f"by its fills and days in wood, and {count} score{'s' if count > 1 else ''} of its own"


def _left(use: WoodUse, shift: float, sd: float, scores: int, basis: str) -> EffectLeft:
    usual = float(wood_left(use.used).percent)
    value = min(100.0, max(0.0, usual * (1 + shift)))
    reach = BAND * max(LEAST_SD, usual * sd)
    return EffectLeft(value, max(0.0, value - reach), min(100.0, value + reach), scores, basis)


def _prior_sd(use: WoodUse) -> float:
    """Return one standard deviation of a barrel's deviation before any score, as a share."""
    return float((BETWEEN_BARRELS**2 + WOODS_DIFFER**2 + _of_fill(use.used) ** 2) ** 0.5)


def _of_fill(used: float) -> float:
    """Return how far the ceilings of the compounds lie apart after so many fills, as a share of the usual one."""
    left = wood_left(used)
    usual = float(left.percent)
    return 0.0 if usual <= 0 else float(left.high - left.low) / (2 * BAND * usual)


def _deviations(uses: Mapping[str, WoodUse], scores: Sequence[WoodScore]) -> dict[str, tuple[float, float]] | None:
    """Return each barrel's deviation and one standard deviation of it; None where scores do not follow the wood."""
    drawn = np.array([_drawn(uses[each.barrel], each) for each in scores])
    score, noise = np.array([each.score for each in scores]), np.array([each.sd**2 for each in scores])
    design = np.column_stack([np.ones(len(scores)), drawn])
    if np.linalg.matrix_rank(design) < 2:
        return None
    seen = _Shared.of([(each.barrel, uses[each.barrel].kind, each.fill, each.fill - 1.0) for each in scores])
    of_wood = seen.covariance(seen) * np.outer(drawn, drawn)
    slope, extra = 0.0, 0.0
    for _ in range(_STEPS):
        spread = slope**2 * of_wood + np.diag(noise + extra + 1e-9)
        inverse = np.linalg.inv(spread)
        covariance = np.linalg.inv(design.T @ inverse @ design)
        fixed = covariance @ design.T @ inverse @ score
        residual = score - design @ fixed
        beyond = float((residual @ residual) / max(1, len(scores) - 2) - (np.diag(spread) - extra).mean())
        slope, extra = max(0.0, float(fixed[1])), max(0.0, beyond)
    if fixed[1] < _SURE_SLOPE * covariance[1, 1] ** 0.5:
        return None
    now = _Shared.of([(tag, use.kind, use.fill, use.used) for tag, use in uses.items()])
    shared = slope * seen.covariance(now) * drawn[:, None]
    weights = inverse @ shared
    left_open = design.T @ weights
    settled = (shared * weights).sum(axis=0) - np.einsum("ij,ik,kj->j", left_open, covariance, left_open)
    found = {}
    for tag, shift, less in zip(uses, weights.T @ residual, settled, strict=True):
        found[tag] = float(shift), max(0.0, _prior_sd(uses[tag]) ** 2 - float(less)) ** 0.5
    return found


@dataclass(frozen=True)
class _Shared:
    """By what deviations are alike: barrels, their wood and toast, their fill, and how far that may be off."""

    barrel: NDArray[np.object_]
    kind: NDArray[np.object_]
    fill: NDArray[np.int64]
    of_fill: NDArray[np.float64]

    @classmethod
    def of(cls, rows: Sequence[tuple[str, tuple[str, str], int, float]]) -> "_Shared":
        """Gather (barrel, wood and toast, fill, fills used) of each."""
        barrel, kind, fill, used = zip(*rows, strict=True)
        known = {each: _of_fill(each) for each in set(used)}
        return cls(
            np.array(barrel, dtype=object),
            np.array(["\n".join(each) for each in kind], dtype=object),
            np.array(fill),
            np.array([known[each] for each in used]),
        )

    def covariance(self, other: "_Shared") -> NDArray[np.float64]:
        """Return the covariance of the deviations of each of these with each of the others."""
        of_fill = np.outer(self.of_fill, other.of_fill) * np.equal.outer(self.fill, other.fill)
        of_kind = WOODS_DIFFER**2 * (self.kind[:, None] == other.kind[None, :])
        of_barrel = BETWEEN_BARRELS**2 * (self.barrel[:, None] == other.barrel[None, :])
        return np.asarray(of_fill + of_kind + of_barrel, dtype=np.float64)


def _drawn(use: WoodUse, score: WoodScore) -> float:
    """Return what a barrel of this fill usually gives in so many days [% of a new 225 L barrel]."""
    return float(wood_extraction(min(score.days, 7300.0), score.fill, area_cm2_l=use.area_cm2_l).percent)
