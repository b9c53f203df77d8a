"""How soon a leak is found, how often a sound barrel is accused, and what pooling is worth, on simulated cellars.

Run with `python tests/benchmarks/bench_walk.py`. The simulated cellar shares no code with what it tries: barrels of
four sizes in three rooms that differ in dryness and season, staves that differ by a fifth, months that differ by 8 %,
new wood that soaks, a bung whose level is off by 60 ml and a jug that shows 50 ml, visits four weeks apart of which
one in ten is missed. All of that is common practice (no source). A leak multiplies a barrel's loss from some day on.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cooperage.liquid import barrel_area_m2, barrel_shape
from cooperage.programme.losses.rates import estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.visits import LossVisit
from cooperage.programme.signs.leak import is_odd_visit, is_sure_leak

DAY = 86_400.0
BEGAN = 1_735_689_600.0  # 1 January 2025
ROOMS = {"Low": (0.020, 0.15), "Long": (0.034, 0.30), "Loft": (0.055, 0.50)}  # of 225 L a year, and summer's swing
SIZES = (110, 200, 225, 225, 225, 500)
WOODS = {"sessile oak": 1.0, "white oak": 1.1}
STAVES, MONTHS, BUNG_ML, JUG_ML, MISSED, SOAKS = 0.20, 0.08, 60.0, 50, 0.10, 0.2


@dataclass(frozen=True)
class Simulated:
    """A barrel as the book would have it, its true rate [ml/(m2 day), mean of the year], and when it began to leak."""

    record: VisitRecord
    rate: float
    leaks_from: float | None
    capacity_ml: int
    swing: float

    def rate_until(self, ended: float) -> float:
        """The true rate, mean of the time from the first day on."""
        return self.rate * _seasonal_days(BEGAN, ended, self.swing) * DAY / (ended - BEGAN)


def simulate(
    rng: np.random.Generator,
    barrels: int = 60,
    visits: int = 26,
    leaking: int = 0,
    times: float = 1.0,
    *,
    bung_ml: float = BUNG_ML,
    seasons: bool = True,
) -> list[Simulated]:
    """Simulate a cellar; the first `leaking` barrels leak from a day between the ninth and the fifteenth visit."""
    return [
        _barrel(rng, f"B-{number:03d}", visits, times if number < leaking else None, bung_ml, seasons)
        for number in range(barrels)
    ]


def _barrel(
    rng: np.random.Generator, tag: str, visits: int, times: float | None, bung_ml: float, seasons: bool
) -> Simulated:
    room, litres, wood = (str(rng.choice(list(ROOMS))), int(rng.choice(SIZES)), str(rng.choice(list(WOODS))))
    yearly, swing = ROOMS[room][0], ROOMS[room][1] if seasons else 0.0
    area = float(barrel_area_m2(*barrel_shape(float(litres))))
    tight = float(rng.lognormal(-(STAVES**2) / 2, STAVES))
    rate = 225_000 * yearly / 365.25 / float(barrel_area_m2(*barrel_shape(225.0))) * tight * WOODS[wood]
    is_new = bool(rng.random() < SOAKS)
    leaks_from = None if times is None else BEGAN + 28 * DAY * rng.uniform(9, 15)
    seen, at, level = [], BEGAN, rng.normal(0, bung_ml)
    until = BEGAN + 28 * DAY * visits
    while at < until:
        ended = at + DAY * (28 + rng.integers(-3, 4)) * (2 if rng.random() < MISSED else 1)
        lost = area * rate * _seasonal_days(at, ended, swing) * rng.normal(1, MONTHS)
        lost += (times - 1) * area * rate * max(0.0, ended - max(at, leaks_from)) / DAY if times and leaks_from else 0.0
        lost += 0.019 * litres * 1000 * (_soaked(ended) - _soaked(at)) if is_new else 0.0
        left, level = level, rng.normal(0, bung_ml)
        seen.append(LossVisit(at, ended, JUG_ML * round((lost + left - level) / JUG_ML), BEGAN))
        at = ended
    record = VisitRecord(tag, area, room, wood, math.log(litres / 225), 0 if is_new else 2, tuple(seen), soaks=is_new)
    return Simulated(record, rate, leaks_from, litres * 1000, swing)


def _seasonal_days(began: float, ended: float, swing: float) -> float:
    """Days weighted by the season, day by day; warmest in late July."""
    days = np.arange(began, ended, DAY)
    return float(
        (1 + swing * np.cos(2 * np.pi * ((days - BEGAN) / DAY - 205) / 365.25)).sum()
        * (ended - began)
        / DAY
        / len(days)
    )


def _soaked(at: float) -> float:
    return 1 - math.exp(-(at - BEGAN) / DAY / 8)


def until(cellar: Sequence[Simulated], at: float) -> list[VisitRecord]:
    """Return what the book knows at a moment."""
    return [replace(each.record, visits=tuple(v for v in each.record.visits if v.ended <= at)) for each in cellar]


@dataclass(frozen=True)
class Watched:
    """What came of watching cellars: days from leak to flag (infinite when never), false alarms, sound barrel-years."""

    delays: list[float]
    false_alarms: int
    sound_years: float
    first_looks: list[float]  # days from leak to the leak or an odd visit, whichever was shown first
    odd_visits: int  # visits of sound barrels shown as odd

    @property
    def per_100_barrel_years(self) -> float:
        """False alarms in 100 barrel-years."""
        return 100 * self.false_alarms / self.sound_years


def watch(rng: np.random.Generator, cellars: int, times: float, leaking: int = 3, barrels: int = 60) -> Watched:
    """Look over simulated cellars every four weeks; an alarm that stays up counts once."""
    delays: list[float] = []
    looks: list[float] = []
    alarms, odd_visits, years = 0, 0, 0.0
    for _ in range(cellars):
        cellar = simulate(rng, barrels, leaking=leaking, times=times)
        found: dict[str, float] = {}
        seen: dict[str, float] = {}
        up: set[str] = set()
        odd_up: set[str] = set()
        for month in range(2, 27):
            now = BEGAN + 28 * DAY * month
            rates = estimate_rates(until(cellar, now))
            flagged = {t for t, r in rates.items() if r.leak is not None and is_sure_leak(r.leak)}
            odd = {t for t, r in rates.items() if r.leak is not None and is_odd_visit(r.leak)} - flagged
            for each in cellar:
                tag, began = each.record.tag, each.leaks_from
                if began is not None and now >= began:
                    if tag in flagged:
                        found.setdefault(tag, (now - began) / DAY)
                    if tag in flagged | odd:
                        seen.setdefault(tag, (now - began) / DAY)
                else:
                    years += 28 / 365.25
                    alarms += tag in flagged - up
                    odd_visits += tag in odd - odd_up
            up, odd_up = flagged, odd
        looks += [seen.get(each.record.tag, math.inf) for each in cellar if each.leaks_from is not None]
        delays += [found.get(each.record.tag, math.inf) for each in cellar if each.leaks_from is not None]
    return Watched(delays, alarms, years, looks, odd_visits)


@dataclass(frozen=True)
class Errors:
    """Root mean square errors of a rate, as a share of the true one: own record, grand mean, pooled."""

    own: float
    grand_mean: float
    pooled: float


def pooling_errors(
    rng: np.random.Generator,
    cellars: int,
    barrels: int = 40,
    visits: int = 4,
    *,
    bung_ml: float = BUNG_ML,
    seasons: bool = True,
) -> Errors:
    """Simulate cellars without leaks and compare three ways to tell each barrel's rate.

    While a room's season is not known, no record can tell the year's mean from the mean of the time the cellar was
    seen, and that is what all three are held against.
    """
    squares = []
    for _ in range(cellars):
        cellar = simulate(rng, barrels, visits, bung_ml=bung_ml, seasons=seasons)
        rates = estimate_rates([each.record for each in cellar])
        own = {tag: rate.own for tag, rate in rates.items() if rate.own is not None}
        mean = float(np.mean(list(own.values())))
        ended = max(visit.ended for simulated in cellar for visit in simulated.record.visits)
        for simulated in cellar:
            tag = simulated.record.tag
            if tag in own:
                true = simulated.rate if rates[tag].season.is_known else simulated.rate_until(ended)
                squares.append([(result / true - 1) ** 2 for result in (own[tag], mean, rates[tag].rate)])
    return Errors(*(float(each) for each in np.sqrt(np.mean(squares, axis=0))))


def main() -> None:
    """Print the tables."""
    rng = np.random.default_rng(5)
    print("leaks planted in 3 of 60 barrels, looked over every 4 weeks for 2 years")
    print("times   found  median days  90 % within  false alarms per 100 barrel-years; first look, odd visits")
    for times in (2.0, 3.0, 5.0):
        seen = watch(rng, 20, times)
        found = sum(math.isfinite(d) for d in seen.delays)
        middle, most = np.quantile(seen.delays, [0.5, 0.9], method="inverted_cdf")
        print(
            f"{times:5.0f} {found:3d}/{len(seen.delays):3d}  {middle:11.0f}  {most:11.0f}  "
            f"{seen.per_100_barrel_years:6.2f} ({seen.false_alarms} in {seen.sound_years:.0f}); "
            f"{np.quantile(seen.first_looks, 0.5, method='inverted_cdf'):.0f} days, {seen.odd_visits}"
        )
    print("\nerror of a rate, 40 barrels                       own  grand mean  pooled")
    for bung_ml, seasons in ((BUNG_ML, True), (BUNG_ML, False), (200.0, False)):
        for visits in (2, 4, 8, 26):
            errors = pooling_errors(rng, 20, visits=visits, bung_ml=bung_ml, seasons=seasons)
            about = f"{visits:3d} visits, bung {bung_ml:3.0f} ml, {'seasons' if seasons else 'no season'}"
            print(f"{about:42s} {errors.own:9.3f} {errors.grand_mean:11.3f} {errors.pooled:7.3f}")
    cellar = simulate(rng, 10_000)
    started = time.perf_counter()
    estimate_rates([each.record for each in cellar])
    print(f"\n10,000 barrels, 26 visits each: rates and leaks in {time.perf_counter() - started:.1f} s")


if __name__ == "__main__":
    main()
