"""What barrels like a given one lose: a weighted straight fit over room, size, age and wood, leaking ones set apart."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.losses.pooling import Pooled, pool
from cooperage.programme.losses.record import VisitRecord

Floats = NDArray[np.float64]

LEAST_SPREAD = 0.15
"""Spread between barrels, as a share of their rate, below which it is not believed: staves differ (no source)."""
_ALONE = 0.9  # leverage from which a barrel has no peers but itself
_FAR_OUT, _FAR_ABOVE = 3.5, 1.5
_GROUP = 4  # barrels that a room or a wood must have before it is treated separately


@dataclass(frozen=True)
class PeerRate:
    """What a barrel's peers lose, the error of that, and the variance from barrel to barrel about it.

    `others` are its peers without itself, where it is among those that the fit was made from.
    """

    rate: float
    fit_variance: float
    between: float
    others: "PeerRate | None" = None

    @property
    def spread(self) -> float:
        """Variance of one barrel about what its peers show."""
        least = (LEAST_SPREAD * self.rate) ** 2
        return (least if not np.isfinite(self.between) else max(self.between, least)) + self.fit_variance


def peers_of(
    records: Sequence[VisitRecord], own: Mapping[str, tuple[float, float]], typical: float
) -> dict[str, PeerRate]:
    """Fit what barrels like each one lose; barrels far out of line are set apart until none is left among the rest."""
    known = [record for record in records if record.tag in own]
    design = _design(records, known)
    rows = np.array([index for index, record in enumerate(records) if record.tag in own])
    rate, variance = np.array([own[record.tag] for record in known]).T
    middling = median(rate.tolist())
    kept = rate < middling + 5 * max(1.4826 * median(np.abs(rate - middling).tolist()), 0.2 * typical)
    for _ in range(6):
        used, columns = kept, design[rows][kept]
        if np.linalg.matrix_rank(columns) < columns.shape[1]:
            design, columns = design[:, :1], design[rows][kept][:, :1]
        pooled = pool(rate[kept], variance[kept], columns)
        fitted, of_fit = _predict(design, columns, pooled, variance[kept])
        between = pooled.between if np.isfinite(pooled.between) else float(np.var(rate[kept]))
        z = (rate - fitted[rows]) / np.sqrt(variance + between + of_fit[rows])
        now = kept & ~((z > _FAR_OUT) & (rate > _FAR_ABOVE * fitted[rows]))
        if (now == kept).all() or now.sum() < 3:
            break
        kept = now
    low = 0.2 * typical
    without = _without_each(rate, variance, pooled.between, fitted[rows], of_fit[rows])
    others = {
        record.tag: PeerRate(max(of_rest, low), error, pooled.between)
        for record, was_used, of_rest, error in zip(known, used, *without, strict=True)
        if was_used
    }
    return {
        record.tag: PeerRate(max(float(fitted[i]), low), float(of_fit[i]), pooled.between, others.get(record.tag))
        for i, record in enumerate(records)
    }


def _without_each(
    rate: Floats, variance: Floats, between: float, fitted: Floats, of_fit: Floats
) -> tuple[list[float], list[float]]:
    """Return the fit for each barrel made without it, and its variance, by its leverage; where it has others like it.

    Cook and Weisberg, Residuals and Influence in Regression, 1982, section 2.2.
    """
    leverage = of_fit / (variance + _finite(between))
    has_others = leverage < _ALONE
    left = np.where(has_others, 1 - leverage, 1.0)
    without = np.where(has_others, (fitted - leverage * rate) / left, fitted)
    return without.tolist(), (of_fit / left).tolist()


def _finite(between: float) -> float:
    """Return the spread between barrels, none where too few are known to learn it from."""
    return between if np.isfinite(between) else 0.0


def _predict(design: Floats, columns: Floats, pooled: Pooled, variance: Floats) -> tuple[Floats, Floats]:
    """Return the fit for every barrel, also those that it was not made from, and its variance."""
    between = _finite(pooled.between)
    solved, *_ = np.linalg.lstsq(columns, pooled.fitted, rcond=None)
    inside = np.linalg.inv(columns.T @ (columns / (variance + between)[:, None]))
    return design @ solved, np.einsum("ij,jk,ik->i", design, inside, design)


def _design(records: Sequence[VisitRecord], known: Sequence[VisitRecord]) -> Floats:
    """Return what distinguishes barrels, one column each, as many as the known barrels can bear."""
    columns = [[1.0] * len(records)]
    tags = {record.tag for record in known}
    wanted = [*_groups(records, known, "room"), *_numbers(records, known), *_groups(records, known, "wood")]
    for column in wanted:
        if 4 * (len(columns) + 2) > len(known):
            break
        tried = np.column_stack([*columns, column])
        rows = np.array([record.tag in tags for record in records])
        if np.linalg.matrix_rank(tried[rows]) == tried.shape[1]:
            columns.append(column)
    return np.column_stack(columns)


def _groups(records: Sequence[VisitRecord], known: Sequence[VisitRecord], name: str) -> list[list[float]]:
    """Return one column for each room or wood that enough barrels share, but for the commonest."""
    seen = Counter(getattr(record, name) for record in known)
    common = [
        value for value, barrels in sorted(seen.items(), key=lambda each: (-each[1], each[0])) if barrels >= _GROUP
    ]
    is_alone = len(common) == 1 and seen[common[0]] < len(known)
    others = common if is_alone else common[1:]
    return [[float(getattr(record, name) == value) for record in records] for value in others]


def _numbers(records: Sequence[VisitRecord], known: Sequence[VisitRecord]) -> list[list[float]]:
    """Return a column for size, and one for whether the barrel is in its first fill; unknown counts as used."""
    columns = [[record.size for record in records], [float(record.age == 0) for record in records]]
    shown = [[record.size for record in known], [float(record.age == 0) for record in known]]
    return [column for column, of_known in zip(columns, shown, strict=True) if np.ptp(of_known) > 0.2]
