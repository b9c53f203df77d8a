"""Where litres went: losses by cause, barrel, room, lot, wood or month, and each barrel's own thirst."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from cooperage.book import Book, Cellar, Standing
from cooperage.book.log import losses
from cooperage.book.places import OUTSIDE, Outside
from cooperage.errors import BadInput
from cooperage.programme.pooling import pool


class UnknownGrouping(BadInput):
    """A way of grouping losses that there is not."""

    def __init__(self, by: str) -> None:
        self.by = by
        super().__init__(f"losses cannot be told by '{by}'; choose from {', '.join(GROUPINGS)}")


@dataclass(frozen=True, slots=True)
class LossRow:
    """What one group lost [ml], by cause and in all; a gain counts as a negative loss."""

    what: str
    causes: dict[str, int]
    total_ml: int


@dataclass(frozen=True, slots=True)
class LossRate:
    """A barrel's thirst: its own rate pooled with its peers' [ml/day] and one standard deviation of it."""

    ml_per_day: float
    sd: float
    own_ml_per_day: float
    days: float
    capacity_ml: int

    @property
    def per_year_percent(self) -> float:
        """The rate as per cent of the capacity a year."""
        return 100 * self.ml_per_day * 365.25 / self.capacity_ml


def _room(standing: Standing, _at: datetime) -> str:
    return standing.position[0] or "no room"


def _wood(standing: Standing, _at: datetime) -> str:
    barrel = standing.vessel.barrel
    return "no wood" if barrel is None else barrel.wood or "unknown wood"


def _lot(standing: Standing, _at: datetime) -> str:
    return next(iter(standing.lots), "empty now")


GROUPINGS: dict[str, Callable[[Standing, datetime], str]] = {
    "cause": lambda _s, _at: "",
    "barrel": lambda standing, _at: standing.tag,
    "room": _room,
    "lot": _lot,
    "wood": _wood,
    "month": lambda _s, at: f"{at:%Y-%m}",
}


def losses_by(book: Book, by: str, since: datetime | None = None, until: datetime | None = None) -> list[LossRow]:
    """Sum losses by a grouping, the largest first (months in order); raises UnknownGrouping.

    A lot's losses are those of the vessels that mostly hold it now.
    """
    if by not in GROUPINGS:
        raise UnknownGrouping(by)
    cellar, grouping = book.cellar(), GROUPINGS[by]
    summed: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    with book.reading() as connection:
        for at, tag, place, ml in losses(connection, since=since, until=until):
            if OUTSIDE[Outside(place)].is_loss:
                group = place if by == "cause" else grouping(cellar[tag], at)
                summed[group][place] += ml
    rows = [LossRow(what, dict(causes), sum(causes.values())) for what, causes in summed.items()]
    return sorted(rows, key=lambda row: (row.what,) if by == "month" else (-row.total_ml, row.what))


_THIRST = (Outside.EVAPORATED, Outside.LEAK, Outside.GAUGING)
_LEAST_DAYS = 45.0


def loss_rates(book: Book, cellar: Cellar | None = None) -> dict[str, LossRate]:
    """Estimate each barrel's loss rate in its present fill, pooled over barrels of its size class.

    A barrel's own rate is what its toppings and gauges closed over the days they cover; its variance follows from the
    scatter of those visits. Barrels with fewer than two visits or 45 days are left out. Empirical Bayes, see
    `cooperage.programme.pooling`.
    """
    cellar = cellar or book.cellar()
    visits: dict[str, list[tuple[datetime, int]]] = defaultdict(list)
    with book.reading() as connection:
        for at, tag, place, ml in losses(connection):
            if place in _THIRST:
                visits[tag].append((at, ml))
    classes: dict[int, list[tuple[Standing, float, float, float]]] = defaultdict(list)
    for standing in cellar.barrels:
        own = _own_rate(standing, visits.get(standing.tag, []))
        if own is not None:
            classes[_size_class(standing)].append((standing, *own))
    return {tag: rate for group in classes.values() for tag, rate in _pooled(group).items()}


def _size_class(standing: Standing) -> int:
    capacity = standing.vessel.capacity_ml
    return sum(capacity >= limit for limit in (100_000, 280_000, 450_000))


def _own_rate(standing: Standing, visits: list[tuple[datetime, int]]) -> tuple[float, float, float] | None:
    """Return a barrel's relative rate [1/day], its variance, and the days it covers, within the present fill."""
    if standing.days_in_wood is None:
        return None
    began = standing.at.timestamp() - standing.days_in_wood * 86_400
    points = [(began, 0), *((at.timestamp(), ml) for at, ml in visits if at.timestamp() > began)]
    days = (points[-1][0] - began) / 86_400
    steps = [
        (ml / standing.vessel.capacity_ml, (at - before) / 86_400)
        for (before, _), (at, ml) in pairwise(points)
        if at > before
    ]
    if len(steps) < 3 or days < _LEAST_DAYS:
        return None
    rate = sum(lost for lost, _ in steps) / days
    scatter = sum((lost - rate * step) ** 2 for lost, step in steps) / (len(steps) - 1)
    return rate, scatter * len(steps) / days**2, days


def _pooled(group: list[tuple[Standing, float, float, float]]) -> dict[str, LossRate]:
    floor = 1e-12  # a barrel topped by the same glass every time still has some scatter
    pooled = pool([rate for _, rate, _, _ in group], [max(floor, variance) for _, _, variance, _ in group])
    return {
        standing.tag: LossRate(
            float(estimate) * standing.vessel.capacity_ml,
            float(deviation) * standing.vessel.capacity_ml,
            rate * standing.vessel.capacity_ml,
            days,
            standing.vessel.capacity_ml,
        )
        for (standing, rate, _, days), estimate, deviation in zip(
            group, pooled.estimates, pooled.deviations, strict=True
        )
    }
