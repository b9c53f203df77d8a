"""Whether the first page names what is wrong first, and how often it cries wolf, on simulated cellars in real books.

Run with `python tests/benchmarks/bench_morning.py [CELLARS]`. A cellar has 20 barrels of 110 to 500 L in two rooms and
two that stand empty. Every four weeks, a few days about, each is topped from a tank and tasted, every second time free
SO2 is read and dosed back, every third time volatile acidity and pH; a fifth of the visits dip before topping. It is
looked at some days after the fifteenth walk. Barrels differ in what they lose (by a third, and with the season), in how
fast free SO2 falls and in pH; readings err as the book takes them to. All of that is common practice (no source).

Each cellar is looked at sound, with one trouble, and with all five: a leak of 2 to 5 L a month for three to five walks;
volatile acidity that climbs past its limit, smelled at the last walk; free SO2 read and left at a tenth to a third of
what it should be; a dip that shows 6 to 15 L less than the book; an empty barrel that nobody smelled for 100 to 200
days. Slight ones are of 0.8 to 2 L a month, half that climb, half of the floor, 5 to 6 L, 45 to 75 days. A row counts
as planted where it names the vessel and the cause.
"""

import argparse
import math
import multiprocessing
import sys
import tempfile
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from cooperage import liquid
from cooperage.book import Barrel, Book, Lot, Vessel, Writing
from cooperage.book.declared import acts
from cooperage.book.store.gauging import expected_headspace
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.glance import today_of
from cooperage.programme.today.matters import Matter

BEGAN = datetime(2025, 1, 6, 9, tzinfo=UTC)
WALKS, PAUSE, BARRELS = 15, 28, 20
ABV, FLOOR, AIM, DOSED_UNDER, STAYS_FREE = 12.5, 0.5, 0.85, 0.65, 0.6
SIZES = (110, 225, 225, 225, 500)
KINDS = {"leak": "leak", "vinegar": "va", "low SO2": "sulphite", "odd dip": "dip", "empty": "empty"}
"""The troubles that are planted, and the kind of row that names each."""

GRAVE = {"least": (2.0, 0.10, 0.1, 6.0, 4), "more": (3.0, 0.04, 0.2, 9.0, 3)}
SLIGHT = {"least": (0.8, 0.05, 0.4, 5.0, 1), "more": (1.2, 0.02, 0.2, 1.0, 1)}
"""Of each kind the least that is planted, and how much more at most: [L a month], [g/L a month], share of the floor,
[L], walks."""


class Clock:
    """The moment of the simulated walk; entries follow each other by seconds."""

    at = BEGAN

    def __call__(self) -> datetime:
        """Tell it."""
        self.at += timedelta(seconds=5)
        return self.at


@dataclass
class Cask:
    """One barrel in truth, and what was planted in it."""

    tag: str
    litres: int
    a_day: float  # [L], mean of the year
    pace: float  # of free SO2 [1/day]
    ph: float
    va: float
    creeps: float  # [g/L a day]
    free: float
    planted: str = ""
    short: float = 0.0  # [L]

    def share(self) -> float:
        """The molecular share of its free SO2 in a cool cellar."""
        return float(liquid.molecular_so2(1.0, self.ph, ABV, 15.0))


@dataclass(frozen=True)
class Looked:
    """What the page showed of one cellar: its rows, and which are planted."""

    rows: list[Matter]
    planted: dict[str, str]  # kind of row by vessel

    def is_planted(self, row: Matter) -> bool:
        """Return True if a row names a planted trouble."""
        return any(self.planted.get(tag) in row.kinds for tag in row.vessels)

    @property
    def trouble(self) -> list[Matter]:
        """The rows that are trouble."""
        return [row for row in self.rows if row.state is SignState.TROUBLE]


@dataclass
class Grown:
    """A cellar that grows walk by walk in a book."""

    seed: int
    plant: Collection[str]
    path: Path
    is_slight: bool = False
    clock: Clock = field(default_factory=Clock)

    def __post_init__(self) -> None:
        """Draw the barrels; the same seed draws the same, whatever is planted."""
        rng = np.random.default_rng(self.seed)
        self.casks = [self._cask(rng, number) for number in range(1, BARRELS + 1)]
        self.swing = rng.uniform(0.1, 0.4)
        self.since = int(rng.integers(WALKS - 5, WALKS - 2))
        self.how_much = rng.uniform(0.0, 1.0, len(KINDS))
        self.least, self.more = (SLIGHT if self.is_slight else GRAVE).values()
        places = rng.choice(BARRELS, 4, replace=False)
        for kind, place in zip(("leak", "vinegar", "low SO2", "odd dip"), places, strict=True):
            self.casks[place].planted = kind if kind in self.plant else ""
        self.rng = np.random.default_rng((self.seed, 1))
        self.book = Book.create(str(self.path), now=self.clock)

    @staticmethod
    def _cask(rng: np.random.Generator, number: int) -> Cask:
        litres = int(rng.choice(SIZES))
        a_day = litres * 0.04 / 365.25 * (225 / litres) ** (1 / 3) * float(rng.lognormal(0, 0.3))
        pace = 0.004 * float(rng.lognormal(0, 0.3))
        ph, va, creeps = rng.uniform(3.3, 3.5), rng.uniform(0.3, 0.45), rng.normal(0.05, 0.02) / 365.25
        return Cask(
            f"B-{number:03}", litres, a_day, pace, float(ph), float(va), float(creeps), float(rng.uniform(32, 42))
        )

    def looked_at(self) -> Looked:
        """Let it live, and look at it some days after the last walk."""
        with self.book.writing() as session:
            self._furnish(session)
        for walk in range(1, WALKS + 1):
            days = PAUSE * walk + int(self.rng.integers(-3, 4))
            self.clock.at = BEGAN + timedelta(days=days)
            with self.book.writing() as session:
                self._walk(session, walk, days)
        self.clock.at = BEGAN + timedelta(days=PAUSE * WALKS + 10)
        today = today_of(self.book, cellar_now(self.book))
        self.book.close()
        planted = {cask.tag: KINDS[cask.planted] for cask in self.casks if cask.planted}
        return Looked(list(today.matters), planted | ({"B-100": "empty"} if "empty" in self.plant else {}))

    def _furnish(self, session: Writing) -> None:
        session.add_lot(Lot("", "M", "M", abv=ABV, original_sg=1.1, final_sg=1.005))
        session.add_vessel(Vessel("", "T-1", "tank", 40_000_000, "measured", ("North", None, None, None)))
        session.write(acts.Receive(lot="M", vessel="T-1", volume=40_000_000))
        oak = Barrel(wood="oak", fills_before=2)
        for nth, cask in enumerate(self.casks):
            place = ("North" if nth % 2 else "South", "A", nth // 2 + 1, 1)
            session.add_vessel(Vessel("", cask.tag, "barrel", 1000 * cask.litres, "measured", place, barrel=oak))
            session.write(acts.Fill(vessel=cask.tag, source="T-1", sure=True))
            for name in ("ph", "free_so2_mg_l", "va_g_l"):
                self._read(session, cask, name)
        for tag in ("B-100", "B-101"):
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", ("South", "Z", 1, 1), barrel=oak))
            session.write(acts.Fill(vessel=tag, source="T-1", sure=True))
            session.write(acts.Rack(vessel=tag, destination="T-1", empties=True, sure=True))

    def _read(self, session: Writing, cask: Cask, name: str) -> float:
        truth = {"ph": cask.ph, "free_so2_mg_l": cask.free, "va_g_l": cask.va}[name]
        doubt, step = {"ph": (0.03, 0.01), "free_so2_mg_l": (2.5, 1.0), "va_g_l": (0.04, 0.01)}[name]
        value = max(step, round(float(self.rng.normal(truth, doubt)) / step) * step)
        session.write(acts.Reading(vessel=cask.tag, property=name, value=round(value, 2), sure=True))
        return value

    def _walk(self, session: Writing, walk: int, days: int) -> None:
        for cask in self.casks:
            self._lives(cask, walk, days)
            self._visited(session, cask, walk)
        forgotten = WALKS - self._planted(4) if "empty" in self.plant else WALKS
        for tag in ("B-100", "B-101"):
            if tag == "B-101" or walk < forgotten:
                session.write(acts.Treat(vessel=tag, treatment="sniff"))

    def _planted(self, nth: int) -> float:
        """How much of the trouble of a kind, by its place, was planted here."""
        return self.least[nth] + self.more[nth] * float(self.how_much[nth])

    def _lives(self, cask: Cask, walk: int, days: int) -> None:
        """Let four weeks pass in truth."""
        season = 1 + self.swing * math.cos(2 * math.pi * (days - 205) / 365.25)
        cask.short += cask.a_day * PAUSE * season * float(self.rng.normal(1, 0.1))
        cask.free *= math.exp(-cask.pace * PAUSE)
        cask.va += cask.creeps * PAUSE
        if cask.planted == "leak" and walk > self.since:
            cask.short += self._planted(0)
        if cask.planted == "vinegar" and walk > self.since - 3:
            cask.va += self._planted(1)
        if cask.planted == "low SO2" and walk == WALKS:
            cask.free = self._planted(2) * FLOOR / cask.share()

    def _visited(self, session: Writing, cask: Cask, walk: int) -> None:
        is_last = walk == WALKS
        if cask.planted == "odd dip" and is_last:
            shown = 1000 * cask.litres - round(1000 * self._planted(3))
            self._dip(session, cask, shown)  # and left as it is: nobody topped it
        else:
            if self.rng.random() < 0.2:
                self._dip(session, cask, round(1000 * (cask.litres - cask.short)))
            ml = max(100, 100 * round(10 * (cask.short + float(self.rng.normal(0, 0.06)))))
            session.write(acts.Top(vessel=cask.tag, source="T-1", volume=ml, sure=True))
            cask.short -= ml / 1000
        session.write(acts.Treat(vessel=cask.tag, treatment="taste"))
        if walk % 2 or (cask.planted == "low SO2" and is_last):
            self._dosed(session, cask, is_left=bool(cask.planted == "low SO2" and is_last))
        if walk % 3 == 0:
            for name in ("va_g_l", "ph"):
                self._read(session, cask, name)
        if cask.planted == "vinegar" and is_last:
            session.write(acts.Look(vessel=cask.tag, smell="vinegar"))

    def _dip(self, session: Writing, cask: Cask, ml: int) -> None:
        depth = expected_headspace(Vessel("", cask.tag, "barrel", 1000 * cask.litres), ml) + float(
            self.rng.normal(0, 2)
        )
        reading = acts.Reading(vessel=cask.tag, property="headspace_mm", value=float(max(0, round(depth))), sure=True)
        session.write(reading)

    def _dosed(self, session: Writing, cask: Cask, *, is_left: bool) -> None:
        read, share = self._read(session, cask, "free_so2_mg_l"), cask.share()
        if is_left or read * share >= DOSED_UNDER:
            return
        grams = round((AIM / share - read) * cask.litres / 576 / STAYS_FREE, 1)
        session.write(acts.Addition(vessel=cask.tag, substance="metabisulphite", amount=grams, sure=True))
        cask.free += 576 * grams / cask.litres * float(self.rng.uniform(0.5, 0.7))


def look(seed: int, plant: Collection[str], is_slight: bool = False) -> Looked:
    """Grow a cellar and look at its first page."""
    with tempfile.TemporaryDirectory() as folder:
        return Grown(seed, plant, Path(folder) / "cellar.db", is_slight).looked_at()


@dataclass(frozen=True)
class Judged:
    """Of many cellars: how often the first row is planted, how many of the planted stand among the first rows.

    `first` is the share of cellars whose first row is planted, `in_three` that of planted troubles (three at most in a
    cellar) among the first three rows, `before_else` that of cellars in which all planted stand before anything else,
    `trouble_too` how many other rows of trouble there are in a cellar.
    """

    first: float
    in_three: float
    before_else: float
    trouble_too: float


def judged(looked: Iterable[Looked]) -> Judged:
    """Judge cellars in which something was planted."""
    seen = list(looked)
    first = [bool(each.rows) and each.is_planted(each.rows[0]) for each in seen]
    three = [
        sum(each.is_planted(row) for row in each.rows[:3]) / min(3, len(each.planted)) for each in seen if each.planted
    ]
    before = [sum(each.is_planted(row) for row in each.rows[: len(each.planted)]) == len(each.planted) for each in seen]
    others = [sum(not each.is_planted(row) for row in each.trouble) for each in seen]
    return Judged(*(float(np.mean(each)) for each in (first, three, before, others)))


def wolf(looked: Iterable[Looked]) -> tuple[float, float]:
    """Return the share of sound cellars that show trouble, and how many rows of trouble there are in a cellar."""
    counts = [len(each.trouble) for each in looked]
    return float(np.mean([count > 0 for count in counts])), float(np.mean(counts))


def _judged_line(what: str, found: Judged, cellars: int) -> str:
    return (
        f"{what:<22} {cellars:3d}  {found.first:6.0%}  {found.in_three:6.0%}  {found.before_else:6.0%}  "
        f"{found.trouble_too:6.2f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cellars", nargs="?", type=int, default=40)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--slight", action="store_true")
    asked = parser.parse_args()
    seeds = range(asked.cellars)
    kinds = [list(KINDS)[seed % len(KINDS)] for seed in seeds]
    work = [
        (seed, plant, asked.slight)
        for seed, kind in zip(seeds, kinds, strict=True)
        for plant in ((), (kind,), tuple(KINDS))
    ]
    with multiprocessing.get_context("fork").Pool(asked.processes) as pool:
        looked = pool.starmap(look, work, chunksize=1)
    sound, alone, all_five = looked[0::3], looked[1::3], looked[2::3]
    print("planted              cellars  first  first 3  all before else  other trouble a cellar")
    print(_judged_line("all five", judged(all_five), asked.cellars))
    print(_judged_line("one alone", judged(alone), asked.cellars))
    for kind in KINDS:
        of_kind = [each for each, its in zip(alone, kinds, strict=True) if its == kind]
        print(_judged_line(f"  {kind}", judged(of_kind), len(of_kind)))
    share, rows = wolf(sound)
    print(f"sound: {share:.0%} of {asked.cellars} cellars show any trouble, {rows:.2f} rows a cellar")
    for each in (row for seen in sound for row in seen.trouble):
        print(f"  {each.vessels} {each.word}: {'; '.join(each.why)}", file=sys.stderr)


if __name__ == "__main__":
    main()
