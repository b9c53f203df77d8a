"""Signs of trouble: what the book shows that somebody should look at, each with its reason."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import linear_regression, median

from cooperage.book import Book, Cellar, Standing
from cooperage.book.log import entries
from cooperage.book.reckon import lot_figures
from cooperage.programme.losses import LossRate, loss_rates
from cooperage.programme.rounds import Task, next_due
from cooperage.programme.upkeep import upkeep_of

# Thresholds are common practice (no source): they decide what is shown, never what is written.
_THIRSTY = 2.0
_PARTLY_FULL = (0.05, 0.92)
_STRONGER = 0.4
_VA_CLIMB_PER_MONTH, _TREND_POINTS, _LEAST_POINTS = 0.025, 6, 3
_FORGOTTEN = 1.5


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of trouble at a vessel: its kind, why, and since when, where that is known."""

    vessel: str
    kind: str
    why: str
    since: datetime | None = None


def signs(book: Book, cellar: Cellar | None = None, rates: Mapping[str, LossRate] | None = None) -> list[Sign]:
    """Look over the cellar for leaks, low sulphite, climbing acidity, odd dips, forgotten empties and the like."""
    cellar = cellar or book.cellar()
    rates = loss_rates(book, cellar) if rates is None else rates
    climbing = _climbing_va(book, cellar)
    return [
        sign
        for standing in cellar.barrels
        for sign in (*_of_barrel(standing, cellar), *_thirst(standing, rates), *climbing.get(standing.tag, ()))
    ]


def _of_barrel(standing: Standing, cellar: Cellar) -> Iterator[Sign]:
    if standing.ml == 0:
        yield from _forgotten(standing)
        return
    upkeep = upkeep_of(standing)
    molecular, floor = standing.molecular_so2, upkeep.molecular_so2_floor_mg_l or 0.0
    if molecular is not None and molecular < floor:
        why = f"molecular SO2 {molecular:.2f} mg/l, under {floor:.2f}"
        yield Sign(standing.tag, "sulphite", why, standing.last("free_so2_mg_l"))
    for due in next_due(standing):
        if due.task is Task.GAUGE:
            yield Sign(standing.tag, "dip", due.why, due.due)
    low, high = _PARTLY_FULL
    if low <= standing.ml / standing.vessel.capacity_ml <= high:
        why = f"{standing.headspace_ml / 1000:.0f} l of air above {standing.litres:.0f} l: top, gas or rack together"
        yield Sign(standing.tag, "partial", why)
    yield from _stronger(standing, cellar)


def _forgotten(standing: Standing) -> Iterator[Sign]:
    days, every = standing.days_empty, upkeep_of(standing).sniff_every_days or 0
    if days is None:
        return
    care = (standing.days_since(what) for what in ("sniff", "rinse", "so2 gas", "sulphur wick", "steam"))
    seen = min([days, *(since for since in care if since is not None)])
    if seen > _FORGOTTEN * every:
        yield Sign(standing.tag, "empty", f"empty for {days:.0f} days, not smelled for {seen:.0f}")


def _stronger(standing: Standing, cellar: Cellar) -> Iterator[Sign]:
    barrel, read = standing.vessel.barrel, standing.state.reads.get("abv")
    if barrel is None or not barrel.held_spirit or read is None:
        return
    expected = 0.0
    for code, share in standing.lots.items():
        lot = cellar.lots.get(code)
        abv = None if lot is None else lot_figures(lot)[0]
        if abv is None:
            return
        expected += share * abv
    if read.value > expected + _STRONGER:
        why = f"{read.value:.1f} % vol read, {expected:.1f} by its lots: the {barrel.past_life} barrel gave strength"
        yield Sign(standing.tag, "strength", why, standing.last("abv"))


def _thirst(standing: Standing, rates: Mapping[str, LossRate]) -> Iterator[Sign]:
    rate = rates.get(standing.tag)
    if rate is None:
        return
    peers = [r.own_ml_per_day / r.capacity_ml for r in rates.values() if r.capacity_ml == rate.capacity_ml]
    usual = median(peers) * rate.capacity_ml
    if usual > 0 and rate.own_ml_per_day > _THIRSTY * usual:
        why = (
            f"drinks {rate.own_ml_per_day * 30 / 1000:.1f} l a month, its peers {usual * 30 / 1000:.1f}: "
            "look for a leak"
        )
        yield Sign(standing.tag, "leak", why)


def _climbing_va(book: Book, cellar: Cellar) -> dict[str, list[Sign]]:
    """Find barrels whose volatile acidity has risen by more than its readings can hide, within the present fill."""
    read: dict[str, list[tuple[datetime, float]]] = defaultdict(list)
    with book.reading() as connection:
        for entry in entries(connection, kind="reading"):
            for observed in entry.readings if not entry.struck_by else ():
                if observed.property == "va_g_l":
                    read[observed.vessel].append((entry.happened_at, observed.value))
    found: dict[str, list[Sign]] = {}
    for standing in cellar.barrels:
        filled_at = standing.state.filled_at
        points = [(at, va) for at, va in read[standing.tag] if filled_at and at.timestamp() >= filled_at]
        found[standing.tag] = list(_climb(standing, points))
    return found


def _climb(standing: Standing, points: list[tuple[datetime, float]]) -> Iterator[Sign]:
    ceiling = upkeep_of(standing).va_ceiling_g_l or 0.0
    recent = points[-_TREND_POINTS:]
    if len(recent) >= _LEAST_POINTS and _per_month(recent) > _VA_CLIMB_PER_MONTH:
        since, low = min(recent, key=lambda point: point[1])
        over = ", over the limit" if recent[-1][1] > ceiling else ""
        why = f"volatile acidity rose from {low:.2f} to {recent[-1][1]:.2f} g/l{over}"
        yield Sign(standing.tag, "va", why, since)
    elif points and points[-1][1] > ceiling:
        yield Sign(standing.tag, "va", f"volatile acidity {points[-1][1]:.2f} g/l, over {ceiling:.2f}", points[-1][0])


def _per_month(points: list[tuple[datetime, float]]) -> float:
    """Return the slope of a straight line through the readings [g/l in 30 days]."""
    days = [(at - points[0][0]) / timedelta(days=30) for at, _ in points]
    if len(set(days)) < len(days):
        return 0.0
    return linear_regression(days, [value for _, value in points]).slope
