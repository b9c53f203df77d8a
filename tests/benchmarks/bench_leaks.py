"""Leaks of thrifty, usual and thirsty barrels with coarse jugs, and forecasts in a cellar's first year, simulated.

Run with `python tests/benchmarks/bench_leaks.py`; all seeds are fixed. The simulated cellar shares no code with what it
tries: 24 barrels of 225 L in two rooms, whose season is not quite a cosine, whose months differ by 8 %, staves that
differ by a fifth, levels at the bung that are off by 50 ml, visits four weeks apart of which one in ten is missed. The
jug is read to a step, or only whole steps are poured and what is left short waits for the next visit. All of that is
common practice (no source). Thrifty and thirsty barrels lose 0.45 and 1.8 times what barrels like them do. A leak
multiplies a barrel's own loss from some day on.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from cooperage.liquid import barrel_area_m2, barrel_shape
from cooperage.programme.losses.learning import loss_rate
from cooperage.programme.losses.level import expected_loss
from cooperage.programme.losses.rates import estimate_rates
from cooperage.programme.losses.record import VisitRecord
from cooperage.programme.losses.visits import LossVisit
from cooperage.programme.signs.leak import is_sure_leak

DAY, BEGAN = 86_400.0, 1_735_689_600.0  # 1 January 2025
LITRES, PAUSE = 225.0, 28
ROOMS = {"Low": (0.025, 0.2), "Loft": (0.045, 0.45)}  # of the capacity a year, and the swing of the season
STAVES, MONTHS, BUNG_ML, MISSED = 0.20, 0.08, 50.0, 0.10
KINDS = {"thrifty": 0.45, "usual": 1.0, "thirsty": 1.8}
COVERED = (0.5, 0.8, 0.95)
AREA = float(barrel_area_m2(*barrel_shape(LITRES)))


@dataclass(frozen=True)
class Cellar:
    """What the book would have, and when which barrel began to leak [seconds since 1970]."""

    records: list[VisitRecord]
    leaks_from: dict[str, float]


@dataclass(frozen=True)
class Jug:
    """How finely is topped [ml], and whether only whole steps are poured, as few as go in, or the jug read to one."""

    step: int = 50
    is_whole: bool = False


@dataclass(frozen=True)
class Planted:
    """The leaks of a cellar: so many barrels of a kind lose so many times their own rate from visit 9 to 15 on."""

    barrels: int = 0
    kind: str = "usual"
    times: float = 1.0


def simulate(
    rng: np.random.Generator, visits: int, jug: Jug, leaks: Planted, *, barrels: int = 24, starts: float = 0.0
) -> Cellar:
    """Simulate a cellar that is filled on a day of the year [days]."""
    began = BEGAN + starts * DAY
    months = {room: rng.normal(1, MONTHS, 2 * visits + 4) for room in ROOMS}
    records, leaks_from = [], {}
    for number in range(barrels):
        tag, room = f"B-{number:02d}", str(rng.choice(list(ROOMS)))
        a_day = ROOMS[room][0] * LITRES * 1000 / 365.25 * float(rng.lognormal(-(STAVES**2) / 2, STAVES))
        opens = None
        if number < leaks.barrels:
            a_day = ROOMS[room][0] * LITRES * 1000 / 365.25 * KINDS[leaks.kind]
            opens = leaks_from[tag] = began + PAUSE * DAY * rng.uniform(9, 15)
        days = _days(a_day, room, began, months[room], opens, leaks.times)
        records.append(VisitRecord(tag, AREA, room, "oak", 0.0, 2, _visits(rng, began, visits, days, jug)))
    return Cellar(records, leaks_from)


def _days(
    a_day: float, room: str, began: float, months: NDArray[np.float64], opens: float | None, times: float
) -> NDArray[np.float64]:
    """Return what is lost on each day [ml]: a warm summer that is shorter than the cold, each month its weather."""
    at = np.arange(len(months) * PAUSE)
    year = 2 * np.pi * ((began - BEGAN) / DAY + at - 205) / 365.25
    lost = a_day * (1 + ROOMS[room][1] * (np.cos(year) + 0.15 * np.cos(2 * year))) * np.repeat(months, PAUSE)
    if opens is not None:
        lost += (times - 1) * a_day * np.clip(at + 1 - (opens - began) / DAY, 0.0, 1.0)
    return np.asarray(lost)


def _visits(
    rng: np.random.Generator, began: float, visits: int, days: NDArray[np.float64], jug: Jug
) -> tuple[LossVisit, ...]:
    """Walk past one barrel: what is short by then is topped, as well as jug and bung allow."""
    lost = np.append(0.0, np.cumsum(days))
    seen: list[LossVisit] = []
    before, left, since, day = 0, rng.normal(0, BUNG_ML), 0, 0
    while since < visits:
        since += 2 if rng.random() < MISSED else 1
        day = since * PAUSE + int(rng.integers(-3, 4))
        short = left + lost[day] - lost[before]
        if jug.is_whole:
            poured = jug.step * max(0, math.floor((short + rng.normal(0, BUNG_ML)) / jug.step + 1e-9))
            now = short - poured
        else:
            now = rng.normal(0, BUNG_ML)
            poured = jug.step * round((short - now) / jug.step)
        if poured > 0 or not jug.is_whole:
            seen.append(LossVisit(began + before * DAY, began + day * DAY, poured, began))
            before, left = day, now
    return tuple(seen)


def known_by(cellar: Cellar, at: float) -> list[VisitRecord]:
    """Return what the book knows at a moment."""
    return [replace(each, visits=tuple(v for v in each.visits if v.ended <= at)) for each in cellar.records]


@dataclass
class Watched:
    """What came of watching cellars."""

    visits: list[float] = field(default_factory=list)  # from leak to alarm, infinite when never
    days: list[float] = field(default_factory=list)
    withdrawn: int = 0  # sure alarms that went down while the leak ran
    false_alarms: int = 0
    sound_years: float = 0.0

    def share_within(self, visits: int) -> float:
        """The share of leaks found within so many visits."""
        return float(np.mean(np.array(self.visits) <= visits)) if self.visits else math.nan

    @property
    def middling_days(self) -> float:
        """The middling time to find one [days]."""
        return float(np.quantile(self.days, 0.5, method="inverted_cdf")) if self.days else math.nan

    @property
    def per_100_barrel_years(self) -> float:
        """False alarms in 100 barrel-years of sound barrels."""
        return 100 * self.false_alarms / self.sound_years


def watch(rng: np.random.Generator, cellars: int, jug: Jug, leaks: Planted, visits: int = 26) -> Watched:
    """Look over simulated cellars every four weeks from the second on; an alarm that stays up counts once."""
    seen = Watched()
    for _ in range(cellars):
        cellar = simulate(rng, visits, jug, leaks)
        found: dict[str, tuple[int, float]] = {}
        up: set[str] = set()
        for look in range(2, visits + 1):
            now = BEGAN + PAUSE * DAY * look + 4 * DAY
            records = known_by(cellar, now)
            sure = {
                tag
                for tag, rate in estimate_rates(records).items()
                if rate.leak is not None and is_sure_leak(rate.leak)
            }
            for record in records:
                tag, opens = record.tag, cellar.leaks_from.get(record.tag, math.inf)
                if now < opens:
                    seen.sound_years += PAUSE / 365.25
                    seen.false_alarms += tag in sure - up
                elif tag in sure and tag not in found:
                    found[tag] = (sum(visit.ended > opens for visit in record.visits), (now - opens) / DAY)
                seen.withdrawn += tag in (up - sure) and tag in found
            up = sure
        for tag in cellar.leaks_from:
            after, took = found.get(tag, (math.inf, math.inf))
            seen.visits.append(after)
            seen.days.append(took)
    return seen


@dataclass
class Ahead:
    """Forecasts of what the next visit finds [ml], held against what it found; arrays of shape (visits,)."""

    found: NDArray[np.float64]
    expected: NDArray[np.float64]
    sd: NDArray[np.float64]
    as_last: NDArray[np.float64]
    own_mean: NDArray[np.float64]

    def error(self, of: str) -> float:
        """Mean absolute error [ml]."""
        return float(np.abs(getattr(self, of) - self.found).mean())

    @property
    def bias(self) -> float:
        """Mean of expected less found [ml]."""
        return float((self.expected - self.found).mean())

    def covered(self, probability: float) -> float:
        """The share of visits inside the interval of a probability."""
        reach = NormalDist().inv_cdf(0.5 + probability / 2)
        return float((np.abs(self.found - self.expected) <= reach * self.sd).mean())


def look_ahead(rng: np.random.Generator, cellars: int, months: float, jug: Jug | None = None) -> Ahead:
    """Forecast each barrel's next visit in cellars so many months old, begun at any time of the year."""
    rows = []
    for nth in range(cellars):
        cellar = simulate(
            rng, math.ceil(months * 30.4 / PAUSE) + 4, jug or Jug(), Planted(), starts=365.25 * nth / cellars
        )
        began = min(record.visits[0].began for record in cellar.records)
        now = began + months * 30.4 * DAY
        records = known_by(cellar, now)
        rates = estimate_rates(records)
        for whole, record in zip(cellar.records, records, strict=True):
            if not record.visits:
                continue
            ahead, last = whole.visits[len(record.visits)], record.visits[-1]
            rate = loss_rate(record, rates[record.tag], round(LITRES * 1000))
            lost, sd = expected_loss(rate, ahead.began, ahead.ended)
            mean = sum(v.lost_ml for v in record.visits) / sum(v.days for v in record.visits)
            rows.append((ahead.lost_ml, lost, sd, last.lost_ml / last.days * ahead.days, mean * ahead.days))
    return Ahead(*np.array(rows, dtype=np.float64).T)


def leak_line(name: str, seen: Watched) -> str:
    """Return one line of the table of leaks."""
    return (
        f"{name:28s} {seen.share_within(2):6.0%} {seen.share_within(4):6.0%} {seen.share_within(8):6.0%} "
        f"{seen.middling_days:6.0f} {seen.withdrawn:6d} {seen.per_100_barrel_years:8.2f} "
        f"({seen.false_alarms} in {seen.sound_years:.0f})"
    )


def ahead_line(months: float, seen: Ahead) -> str:
    """Return one line of the table of forecasts."""
    errors = " ".join(f"{seen.error(of):8.0f}" for of in ("expected", "as_last", "own_mean"))
    covered = " ".join(f"{seen.covered(probability):6.1%}" for probability in COVERED)
    return f"{months:4.0f} months {errors} {seen.bias:+6.0f}  {covered}  {len(seen.found)}"


def leaks_table(cellars: int, steps: Sequence[Jug]) -> None:
    """Print how leaks are found."""
    print("leaks in 4 of 24 barrels; found within 2, 4, 8 visits, middling days, withdrawn, false alarms per 100 years")
    for kind in KINDS:
        for times in (2.0, 2.7, 3.4, 5.0):
            seen = watch(np.random.default_rng(31), cellars, Jug(), Planted(4, kind, times))
            print(leak_line(f"{kind}, {times} times", seen), flush=True)
    for jug in steps:
        seen = watch(np.random.default_rng(32), 2 * cellars, jug, Planted())
        print(leak_line(f"none, {jug.step} ml {'poured' if jug.is_whole else 'read'}", seen), flush=True)
        seen = watch(np.random.default_rng(33), cellars, jug, Planted(4, "usual", 3.4))
        print(leak_line(f"3.4 times, {jug.step} ml", seen), flush=True)


def main() -> None:
    """Print the tables."""
    leaks_table(6, [Jug(step, whole) for step in (50, 250, 500) for whole in (False, True)])
    print("\nmean abs. error [ml]: expected, as last, own mean; bias; inside the intervals of 50, 80, 95 %; forecasts")
    for months in (3, 5, 8, 14):
        print(ahead_line(months, look_ahead(np.random.default_rng(34), 60, months)), flush=True)


if __name__ == "__main__":
    main()
