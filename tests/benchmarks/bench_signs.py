"""How soon trouble in the mead is found, and how often a sound barrel is accused, on simulated cellars.

Run with `python tests/benchmarks/bench_signs.py`. Sixty barrels are looked over every four weeks for two years; in
three of them something begins between the seventh and the sixteenth month. Readings err as the book takes them to: free
SO2 every month; acidity, gravity and strength every third. Sound barrels differ too: acidity creeps up by some 0.05 g/L
a year, gravity rises as litres go, free SO2 falls by 4 to 12 % a month and is dosed back to 32 mg/L. All of that is
common practice (no source). False alarms are those of the 57 barrels in which nothing ever begins.
"""

import math
import tempfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from cooperage.book import Barrel, Book, Cellar, Lot, Standing, Upkeep, Vessel
from cooperage.book.declared import acts
from cooperage.book.replay.contents import Contents
from cooperage.book.replay.state import VesselState
from cooperage.programme.ageing.experience import Experience
from cooperage.programme.ageing.figures import FiguresNow
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.signs.liquid import climbing_va, falling_sulphite, moving_gravity, near_class_line
from cooperage.programme.signs.sign import Sign

DAY, MONTH = 86_400.0, 28 * 86_400.0
BEGAN = 1_735_689_600.0  # 1 January 2025
MONTHS = 26
ML = 225_000
UNCERTAINTY = {"va_g_l": 0.04, "sg": 0.0007, "free_so2_mg_l": 3.0, "abv": 0.15}
SHOWN = {"va_g_l": 0.01, "sg": 0.0005, "free_so2_mg_l": 1.0, "abv": 0.1}
EVERY = {"va_g_l": 3, "sg": 3, "free_so2_mg_l": 1, "abv": 3}
FULL, LOW, BINDS = 32.0, 25.0, 0.4
LINE = 14.0


def _filled() -> VesselState:
    state = VesselState(ML)
    state.flows_in(Contents(ML, "M"), BEGAN)
    state.age_to(BEGAN)
    return state


@dataclass
class Mead:
    """One barrel as the book remembers it, and when its trouble began; infinite is never."""

    tag: str
    troubled_from: float
    state: VesselState = field(default_factory=_filled)

    def reads(self, rng: np.random.Generator, name: str, at: float, truth: float) -> float:
        """Read a property with its error, as the instrument shows it."""
        value = max(0.0, round(float(rng.normal(truth, UNCERTAINTY[name])) / SHOWN[name]) * SHOWN[name])
        self.state.age_to(at)
        self.state.is_read(name, value, UNCERTAINTY[name], at)
        return value

    def standing(self, at: float) -> Standing:
        """Return the barrel as it stands."""
        vessel = Vessel("", self.tag, "barrel", ML, upkeep=Upkeep(), barrel=Barrel(fills_before=2))
        return Standing(vessel, self.state, datetime.fromtimestamp(at, UTC), {})


Grows = Callable[[np.random.Generator, Mead], Iterable[None]]
"""Lets one barrel's mead live month by month, reading it as it goes."""


def acidity(per_month: float) -> Grows:
    """Acidity that creeps in sound barrels and climbs by so much a month in troubled ones."""

    def grow(rng: np.random.Generator, mead: Mead) -> Iterable[None]:
        level, creep, rota = rng.uniform(0.3, 0.5), rng.normal(0.05, 0.03), int(rng.integers(3))
        for month in range(1, MONTHS + 1):
            at = BEGAN + month * MONTH
            bad = max(0.0, at - mead.troubled_from) / MONTH * per_month
            if month % EVERY["va_g_l"] == rota:
                mead.reads(rng, "va_g_l", at, level + creep * month / 13 + bad)
            yield

    return grow


def gravity(per_month: float) -> Grows:
    """Gravity that rises a little as water goes, and falls by so much a month where yeast is at work again."""

    def grow(rng: np.random.Generator, mead: Mead) -> Iterable[None]:
        level, rises, rota = rng.uniform(1.005, 1.03), rng.uniform(0.0, 0.001), int(rng.integers(3))
        for month in range(1, MONTHS + 1):
            at = BEGAN + month * MONTH
            bad = min(0.02, max(0.0, at - mead.troubled_from) / MONTH * per_month)
            if month % EVERY["sg"] == rota:
                mead.reads(rng, "sg", at, level + rises * month / 13 - bad)
            yield

    return grow


def sulphite(times: float) -> Grows:
    """Free SO2 that falls by 4 to 12 % a month, many times as fast in troubled barrels; dosed back when it is low."""

    def grow(rng: np.random.Generator, mead: Mead) -> Iterable[None]:
        level, pace = FULL, float(rng.uniform(0.04, 0.12))
        for month in range(1, MONTHS + 1):
            at = BEGAN + month * MONTH
            level *= math.exp(-pace * (times if at > mead.troubled_from + MONTH / 2 else 1.0))
            read = mead.reads(rng, "free_so2_mg_l", at, level)
            if read < LOW:
                rise = FULL - read
                mead.state.is_raised("free_so2_mg_l", rise * ML, at)  # what it should make, binding allowed for
                level += rise * (1 - BINDS * rng.lognormal(0, 0.3)) / (1 - BINDS)
            yield

    return grow


def strength(per_year: float) -> Grows:
    """Strength far below a line; in troubled barrels it comes up to the line by so much a year, and is near at 0.2."""

    def grow(rng: np.random.Generator, mead: Mead) -> Iterable[None]:
        sound, rota = rng.uniform(12.0, LINE - 0.7), int(rng.integers(3))
        is_troubled = math.isfinite(mead.troubled_from)
        for month in range(1, MONTHS + 1):
            at = BEGAN + month * MONTH
            near = LINE - 0.2 + per_year * (at - mead.troubled_from) / (13 * MONTH) if is_troubled else sound
            if month % EVERY["abv"] == rota:
                mead.reads(rng, "abv", at, min(near, LINE))
            yield

    return grow


Finds = Callable[[Cellar], Iterable[Sign]]


def _near_lines(cellar: Cellar) -> Iterable[Sign]:
    return (sign for standing in cellar for sign in near_class_line(standing))


class _Falls:
    """Falls of free SO2; what is usual is learned anew every half year, as each takes its time."""

    def __init__(self) -> None:
        self._figures: FiguresNow | None = None
        self._experience: Experience | None = None
        self._months = 0

    def __call__(self, cellar: Cellar) -> Iterable[Sign]:
        months = round((cellar.at.timestamp() - BEGAN) / MONTH)
        if self._experience is None or months % LEARNS_EVERY == 0 or months < self._months:
            self._figures = FiguresNow(cellar, self._figures if months > self._months else None)
            self._experience = self._figures.experience("free_so2_mg_l")
        self._months = months
        return falling_sulphite(cellar, self._experience)


LEARNS_EVERY = 6  # months
TROUBLES: dict[str, tuple[Grows, Finds]] = {
    "acidity climbs by 0.05 g/L a month": (acidity(0.05), climbing_va),
    "acidity climbs by 0.1 g/L a month": (acidity(0.10), climbing_va),
    "gravity falls by 0.001 a month": (gravity(0.001), moving_gravity),
    "gravity falls by 0.003 a month": (gravity(0.003), moving_gravity),
    "free SO2 falls 5 times as fast": (sulphite(5.0), _Falls()),
    "free SO2 falls 10 times as fast": (sulphite(10.0), _Falls()),
    "strength nears a line, 0.2 a year": (strength(0.2), _near_lines),
}


@dataclass(frozen=True)
class Watched:
    """Days from the trouble to the sign (infinite when never), and false alarms over so many sound barrel-years."""

    delays: list[float]
    false_alarms: int
    sound_years: float

    @property
    def per_100_barrel_years(self) -> float:
        """False alarms in 100 barrel-years."""
        return 100 * self.false_alarms / self.sound_years


def watch(rng: np.random.Generator, trouble: str, cellars: int, barrels: int = 60, troubled: int = 3) -> Watched:
    """Look over simulated cellars every four weeks; an alarm that stays up counts once."""
    grow, find = TROUBLES[trouble]
    delays, alarms, years = [], 0, 0.0
    for _ in range(cellars):
        begins = [*(BEGAN + MONTH * rng.uniform(7, 16, troubled)), *[math.inf] * (barrels - troubled)]
        cellar = {f"B-{number:03}": Mead(f"B-{number:03}", float(began)) for number, began in enumerate(begins)}
        lives = [iter(grow(rng, mead)) for mead in cellar.values()]
        found: dict[str, float] = {}
        up: set[str] = set()
        for month in range(1, MONTHS + 1):
            for life in lives:
                next(life)
            now = BEGAN + month * MONTH
            seen = Cellar([mead.standing(now) for mead in cellar.values()], {}, datetime.fromtimestamp(now, UTC))
            flagged = {sign.vessel for sign in find(seen)}
            for tag, mead in cellar.items():
                if math.isinf(mead.troubled_from):
                    years += MONTH / DAY / 365.25
                    alarms += tag in flagged - up
                elif tag in flagged and now >= mead.troubled_from:
                    found.setdefault(tag, (now - mead.troubled_from) / DAY)
            up = flagged
        delays += [found.get(tag, math.inf) for tag, mead in cellar.items() if math.isfinite(mead.troubled_from)]
    return Watched(delays, alarms, years)


# --- litres that do not add up, in a real book ----------------------------------------------------------------------

KEGS, BARRELS = 8, 8
KEG_ERROR_ML, DIP_ERROR_MM = 200.0, 2.0


class _Clock:
    at = datetime.fromtimestamp(BEGAN, UTC)

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=20)
        return self.at


def watch_litres(rng: np.random.Generator, cellars: int, unwritten_ml: int) -> Watched:
    """Kegs weighed and barrels dipped, then topped, every month; from one keg so much goes a month without a word."""
    delays: list[float] = []
    alarms, years = 0, 0.0
    for _ in range(cellars):
        with tempfile.TemporaryDirectory() as folder:
            delay, false, sound = _watch_litres(rng, Path(folder) / "cellar.db", unwritten_ml)
        delays, alarms, years = [*delays, delay], alarms + false, years + sound
    return Watched(delays, alarms, years)


def _watch_litres(rng: np.random.Generator, path: Path, unwritten_ml: int) -> tuple[float, int, float]:
    book = Book.create(str(path), now=(clock := _Clock()))
    kegs, barrels = ([f"{letter}-{n:03}" for n in range(many)] for letter, many in (("K", KEGS), ("B", BARRELS)))
    _furnish(book, kegs, barrels)
    from_month, held = float(rng.uniform(3, 9)), dict.fromkeys(kegs, 95_000.0)
    found, alarms, years = math.inf, 0, 0.0
    up: set[str] = set()
    for month in range(1, MONTHS // 2 + 1):
        clock.at = datetime.fromtimestamp(BEGAN + month * MONTH, UTC)
        held[kegs[0]] -= unwritten_ml if month > from_month else 0
        _visit(rng, book, kegs, barrels, held)
        flagged = {sign.vessel for sign in signs(book, rates={}) if sign.kind == "litres"}
        if kegs[0] in flagged and month > from_month:
            found = min(found, (month - from_month) * MONTH / DAY)
        sound = {*kegs[1:], *barrels}
        alarms, years, up = alarms + len((flagged & sound) - up), years + len(sound) * MONTH / DAY / 365.25, flagged
    book.close()
    return found, alarms, years


def _furnish(book: Book, kegs: Sequence[str], barrels: Sequence[str]) -> None:
    with book.writing() as session:
        session.add_lot(Lot("", "M", "M", abv=13.0, final_sg=1.01))
        session.add_vessel(Vessel("", "T-1", "tank", 10_000_000, "measured"))
        for keg in kegs:
            session.add_vessel(Vessel("", keg, "keg", 100_000, "measured"))
        for tag in barrels:
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", barrel=Barrel(fills_before=3)))
        session.write(acts.Receive(lot="M", vessel="T-1", volume=9_000_000))
        for keg in kegs:
            session.write(acts.Rack(vessel="T-1", destination=keg, volume=95_000))
        for tag in barrels:
            session.write(acts.Fill(vessel=tag, source="T-1"))


def _visit(
    rng: np.random.Generator, book: Book, kegs: Sequence[str], barrels: Sequence[str], held: dict[str, float]
) -> None:
    """Dip and top each barrel, weigh each keg."""
    with book.writing() as session:
        for number, tag in enumerate(barrels):
            lost = max(100.0, rng.normal(650, 120))
            dip = max(0.0, rng.normal((lost / 1.95) ** 0.5, DIP_ERROR_MM))
            session.write(acts.Gauge(vessel=tag, headspace=round(dip), sure=True))
            ml = round(lost / 50) * 50
            keg = kegs[1 + number % (KEGS - 1)]
            session.write(acts.Top(vessel=tag, source=keg, volume=ml, sure=True))
            held[keg] -= ml
        for keg in kegs:
            weighed = max(0, round(rng.normal(held[keg], KEG_ERROR_ML) / 100) * 100)
            session.write(acts.Gauge(vessel=keg, volume=weighed, sure=True))


def line(what: str, seen: Watched) -> str:
    """Put one row of the table in words."""
    found = sum(math.isfinite(delay) for delay in seen.delays)
    middle, most = np.quantile(seen.delays, [0.5, 0.9], method="inverted_cdf")
    return (
        f"{what:<36} {found:3d}/{len(seen.delays):3d}  {middle:11.0f}  {most:11.0f}  "
        f"{seen.per_100_barrel_years:6.2f} ({seen.false_alarms} in {seen.sound_years:.0f})"
    )


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(5)
    print("trouble planted in 3 of 60 barrels, looked over every 4 weeks for 2 years")
    print(f"{'':<36}   found  median days  90 % within  false alarms per 100 barrel-years")
    for trouble in TROUBLES:
        print(line(trouble, watch(rng, trouble, 15)), flush=True)
    for ml in (500, 1000):
        print(line(f"{ml / 1000:g} L a month leaves a keg unwritten", watch_litres(rng, 8, ml)), flush=True)


if __name__ == "__main__":
    main()
