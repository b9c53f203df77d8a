"""How good figures as they are now are, on simulated cellars whose truth is known.

Run with `python tests/benchmarks/bench_ageing.py [cellars]`. A cellar has 12 to 30 barrels of 50 to 500 L, new and
used, in rooms that differ, with 2 to 5 lots and their tanks, for two to three years. Free SO2 falls first-order, as
fast as lot, room, season, size, wood and barrel have it; every sixth cellar is three times as fast or as slow as usual.
Of doses a share binds, racking costs free SO2, some barrels turn sour, the rest stands still or drifts; instruments err
and, in every third cellar, are off for good. What is read when, and dosed after, is written into a real book. All of
that is common practice (no source), and drawn wider than the program expects.

Each cellar is walked weekly three times: read on a schedule of its own (every reading is held against what was shown
for it), read when the interval asks (figures as last read), and read when the risk asks (figures as they are now).
"""

import argparse
import multiprocessing
import sys
import tempfile
import warnings
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from math import sqrt
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

import numpy as np

from cooperage.book import Barrel, Book, Cellar, Lot, Vessel, Writing
from cooperage.book.declared import acts
from cooperage.book.facts import USUAL
from cooperage.programme.ageing.aged import AgedStanding, aged
from cooperage.programme.ageing.figures import FiguresNow
from cooperage.programme.ageing.leaving import air_drifts
from cooperage.programme.ageing.scoring.scored import ForecastOutcome
from cooperage.programme.ageing.scoring.scores import PROBABILITIES, ForecastScore, scores
from cooperage.programme.rounds.due import Task, rounds


def _world_module() -> ModuleType:
    """Load the simulated cellars, which lie beside this file."""
    spec = spec_from_file_location("ageing_world", Path(__file__).with_name("ageing_world.py"))
    assert spec is not None
    assert spec.loader is not None
    module = sys.modules["ageing_world"] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if TYPE_CHECKING:
    from tests.benchmarks.ageing_world import FREE, SHOWN, WEEK, YEAR, Mead, World, share_of
else:
    _world = _world_module()
    FREE, SHOWN, WEEK, YEAR = _world.FREE, _world.SHOWN, _world.WEEK, _world.YEAR
    Mead, World, share_of = _world.Mead, _world.World, _world.share_of

BEGAN = datetime(2024, 1, 1, 10, tzinfo=UTC)
FLOOR, AIM, COUNTED_FREE = 0.5, 0.8, 0.6  # molecular SO2 [mg/L]; share of a dose that a person expects to stay free
SCHEDULE, INTERVAL, RISK = "schedule", "interval", "risk"
HALF_YEAR = 182.0


@dataclass(frozen=True)
class Shown:
    """What was shown just before a reading, the truth, and one standard deviation of what was shown.

    The days of the outcome are those since the cellar began.
    """

    kind: str
    is_biased: bool
    came: ForecastOutcome
    truth: float
    sd: float
    after: str


@dataclass
class Counts:
    """What came of one walk of one or many cellars."""

    is_biased: bool = False
    shown: list[Shown] = field(default_factory=list)
    barrel_years: float = 0.0
    readings: int = 0
    doses: int = 0
    under: int = 0  # barrel-weeks in truth under the floor
    unseen: dict[str, int] = field(default_factory=lambda: defaultdict(int))  # episodes
    unseen_weeks: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    for_nothing: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    complaints: list[str] = field(default_factory=list)

    def joins(self, other: "Counts") -> None:
        """Add another's."""
        for name in ("shown", "barrel_years", "readings", "doses", "under", "complaints"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for name in ("unseen", "unseen_weeks", "for_nothing"):
            for key, count in getattr(other, name).items():
                getattr(self, name)[key] += count


class Clock:
    """The moment of the simulated walk."""

    at = BEGAN

    def __call__(self) -> datetime:
        """Tell it."""
        return self.at


class Walked:
    """One simulated cellar, walked weekly and written into a book."""

    def __init__(self, world: World, policy: str, path: Path) -> None:
        self._world, self._policy = world, policy
        self.counts = Counts(self._world.is_biased)
        self._clock = Clock()
        self._book = Book.create(str(path), now=self._clock)
        self._figures: FiguresNow | None = None
        self._forecasts: dict[tuple[str, str], tuple[float, float, float, float]] = {}
        self._up: dict[str, set[str]] = defaultdict(set)

    def run(self) -> Counts:
        """Walk it to its end."""
        world = self._world
        with self._book.writing() as session:
            self._furnish(session)
        for week in range(1, world.weeks):
            self._clock.at = BEGAN + timedelta(days=WEEK * week)
            held = [mead for mead in (*world.tanks, *world.barrels) if mead.truth]
            for mead in held:
                mead.ages(week, world.season(mead.room, week))
            with warnings.catch_warnings(record=True) as caught:
                warnings.simplefilter("always")
                asked = self._looks(week, held)
            self.counts.complaints += [f"{self._world.kind} cellar, week {week}: {each.message}" for each in caught]
            with self._book.writing() as session:
                self._works(session, week, asked)
        self._book.close()
        return self.counts

    def _furnish(self, session: Writing) -> None:
        world = self._world
        session.add_vessel(Vessel("", "R-1", "tank", 600_000, "measured"))
        for tank in world.tanks:
            session.add_lot(Lot("", f"L{tank.lot}", f"L{tank.lot}"))
            session.add_vessel(Vessel("", tank.tag, "tank", 20_000_000, "measured", ("Room 0", None, None, None)))
            session.write(acts.Receive(lot=f"L{tank.lot}", vessel=tank.tag, volume=20_000_000))
            world.fills(tank, tank.lot)
            self._read(session, tank, SHOWN)
        for mead in world.barrels:
            oak = Barrel(fills_before=0 if mead.is_new else 2)
            place = (f"Room {mead.room}", None, None, None)
            ml = round(mead.litres * 1000)
            session.add_vessel(Vessel("", mead.tag, "barrel", ml, "measured", position=place, barrel=oak))

    # --- what is shown ---------------------------------------------------------------------------------------------

    def _looks(self, week: int, held: list[Mead]) -> set[str]:
        """Look over the cellar: hold what is shown against the truth, and return what is to be read."""
        book = self._book.cellar()
        self._figures = FiguresNow(book, self._figures, lambda: air_drifts(self._book, book, USUAL))
        now = aged(book, figures=self._figures)
        seen: dict[str, list[Cellar]] = {INTERVAL: [book], RISK: [now], SCHEDULE: [now, book]}
        views = seen[self._policy]
        barrels = [mead for mead in held if mead.is_barrel]
        self.counts.barrel_years += len(barrels) * WEEK / YEAR
        self.counts.under += sum(mead.molecular < FLOOR for mead in barrels)
        if self._policy == SCHEDULE:
            asked = {mead.tag for mead in held if week * WEEK >= mead.read_next}
            self._score(book, now, [mead for mead in held if mead.tag in asked])
        else:
            asked = self._due(views[0])
        for view in views:
            self._judge(view, asked, barrels)
        return asked

    @staticmethod
    def _due(cellar: Cellar) -> set[str]:
        return {due.barrel for due in rounds(cellar) if due.task is Task.SULPHITE}

    def _judge(self, view: Cellar, asked: set[str], barrels: Iterable[Mead]) -> None:
        how = "aged" if isinstance(next(iter(view)), AgedStanding) else "as last read"
        for mead in barrels:
            shown = view[mead.tag].molecular_so2
            if shown is None:
                continue
            unseen = mead.molecular < FLOOR <= shown and mead.tag not in asked
            found = {how: unseen, f"{how}, by a tenth": unseen and mead.molecular < 0.9 * FLOOR}
            nothing = {how: shown < FLOOR and mead.molecular > 1.1 * FLOOR}
            for counts, weeks, each in (
                (self.counts.unseen, self.counts.unseen_weeks, found),
                (self.counts.for_nothing, defaultdict(int), nothing),
            ):
                for key, is_so in each.items():
                    up = self._up[f"{key} {counts is self.counts.unseen}"]
                    counts[key] += is_so and mead.tag not in up
                    weeks[key] += is_so
                    (up.add if is_so else up.discard)(mead.tag)

    def _score(self, book: Cellar, now: Cellar, meads: Iterable[Mead]) -> None:
        """Keep what is shown just before readings; the readings themselves come when they are written."""
        self._forecasts.clear()
        for mead in meads:
            standing = now[mead.tag]
            assert isinstance(standing, AgedStanding)
            for name in self._names(mead):
                figure, shown = book[mead.tag].figure(name), standing.now(name)
                if figure.value is not None and shown.value is not None and (figure.days_ago or 9) > 1:
                    doubt = standing.noise(name)
                    forecast = (shown.value, sqrt(shown.sd**2 + doubt**2), shown.sd, figure.value)
                    self._forecasts[mead.tag, name] = forecast

    # --- what is done ----------------------------------------------------------------------------------------------

    def _works(self, session: Writing, week: int, asked: set[str]) -> None:
        world = self._world
        for mead in (*world.tanks, *world.barrels):
            if not mead.truth:
                if week >= mead.fills_at:
                    self._fill(session, mead, mead.lot, np.random.default_rng(mead.fills_at))
                continue
            if mead.is_barrel:
                self._handle(session, mead, week)
            if mead.tag in asked or (not mead.is_barrel and self._policy != SCHEDULE and week % 8 == 0):
                self._read(session, mead, self._names(mead))
                self._dose(session, mead, week)

    def _names(self, mead: Mead) -> list[str]:
        """Which properties the next reading takes."""
        often = {FREE: 1, "ph": 2, "total_so2_mg_l": 2, "va_g_l": 2, "ta_g_l": 3, "abv": 3, "sugar_g_l": 3}
        return [name for name, every in often.items() if mead.times_read % every == 0]

    def _read(self, session: Writing, mead: Mead, names: Iterable[str]) -> None:
        self.counts.readings += mead.is_barrel
        mead.times_read += 1
        for name in names:
            value = self._world.reads(mead, name)
            session.write(acts.Reading(vessel=mead.tag, property=name, value=value, sure=True))
            if (forecast := self._forecasts.pop((mead.tag, name), None)) is not None:
                shown, doubt, sd, last = forecast
                days = (self._clock.at - BEGAN) / timedelta(days=1)
                came = ForecastOutcome(name, mead.tag, self._clock.at, days, shown, doubt, value, last)
                kept = Shown(self._world.kind, self._world.is_biased, came, mead.truth[name], sd, mead.after)
                self.counts.shown.append(kept)
        mead.after = ""

    def _dose(self, session: Writing, mead: Mead, week: int) -> None:
        """Dose where the read molecular SO2 is under the floor, to what should be the aim."""
        share = share_of(mead.known["ph"], mead.known["abv"])
        days = max(30.0, mead.every * self._world.reader.uniform(0.7, 1.3))
        if mead.known[FREE] * share < FLOOR:
            rise = min(40.0, AIM / share - mead.known[FREE])
            grams = round(rise * mead.litres / 576 / COUNTED_FREE, 1)
            if grams > 0:
                session.write(acts.Addition(vessel=mead.tag, substance="metabisulphite", amount=grams, sure=True))
                self.counts.doses += mead.is_barrel
                added = 576 * grams / mead.litres
                mead.truth["total_so2_mg_l"] += added
                mead.truth[FREE] += added
                mead.after = "a dose"
                mead.binding += added * float(self._world.binds[mead.lot])
                days = 7.0 if self._world.reader.random() < 0.2 else days
        mead.read_next = week * WEEK + days

    def _fill(self, session: Writing, mead: Mead, lot: int, chance: np.random.Generator) -> None:
        session.write(acts.Fill(vessel=mead.tag, source=f"T-{lot}", sure=True))
        self._world.fills(mead, lot)
        mead.loses_so2(float(chance.uniform(0, 6)), "a fill")
        mead.read_next = 0.0

    def _handle(self, session: Writing, mead: Mead, week: int) -> None:
        """Top every eight weeks; rack, or empty for another lot, now and then."""
        world, place = self._world, int(mead.tag[2:])
        chance = np.random.default_rng((world.weeks, place, week))
        if (week + place) % 8 == 0:
            ml = round(mead.litres * chance.uniform(3, 9))
            session.write(acts.Top(vessel=mead.tag, source=f"T-{mead.lot}", volume=ml, sure=True))
            world.tops(mead, ml / 1000)
        turn = chance.random()
        if turn < 0.012:
            session.write(acts.Rack(vessel=mead.tag, destination="R-1", lees=1000, sure=True))
            session.write(acts.Rack(vessel="R-1", destination=mead.tag, sure=True))
            session.write(acts.Top(vessel=mead.tag, source=f"T-{mead.lot}", volume=1000, sure=True))
            mead.loses_so2(float(chance.uniform(1, 15)), "racking")
        elif turn < 0.015 and week > 40:
            session.write(acts.Rack(vessel=mead.tag, destination="poured away", sure=True))
            self._fill(session, mead, int(chance.integers(world.lots)), chance)


def walk(seed: int, policy: str, weeks: int = 0, barrels: int = 0) -> Counts:
    """Simulate a cellar and walk it; it can be made smaller than they come."""
    with tempfile.TemporaryDirectory() as folder:
        return Walked(World(seed, weeks, barrels), policy, Path(folder) / "cellar.db").run()


# --- the tables -----------------------------------------------------------------------------------------------------


def walked(cellars: int, policy: str, processes: int = 2, first: int = 0) -> list[Counts]:
    """Walk many cellars, two at a time."""
    work = [(seed, policy) for seed in range(first, first + cellars)]
    if processes == 1:
        return [walk(*each) for each in work]
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        return pool.starmap(walk, work, chunksize=1)


def together(counts: Iterable[Counts]) -> Counts:
    """Add the counts of many cellars."""
    every = Counts()
    for each in counts:
        every.joins(each)
    return every


def against_truth(shown: Iterable[Shown]) -> list[ForecastScore]:
    """Score what was shown against the truth instead of the reading."""
    return scores(replace(each.came, came=each.truth, sd=each.sd) for each in shown)


def by_kind(shown: Iterable[Shown]) -> Iterator[tuple[str, list[Shown]]]:
    """Group what was shown of free SO2 by the kind of cellar, its instruments, and how early it was."""
    free = [each for each in shown if each.came.name == FREE]
    for kind in sorted({each.kind for each in free}):
        yield kind, [each for each in free if each.kind == kind]
    for after in sorted({each.after for each in free}):
        yield f"after {after}" if after else "left alone", [each for each in free if each.after == after]
    yield "true instruments", [each for each in free if not each.is_biased]
    yield "instruments that are off", [each for each in free if each.is_biased]
    yield "in the first half year", [each for each in free if each.came.days < HALF_YEAR]
    yield "later", [each for each in free if each.came.days >= HALF_YEAR]


def line(what: str, score: ForecastScore, truth: ForecastScore) -> str:
    """Put one row of the table in words; coverage beside three standard deviations of the binomial, * beyond them."""
    digits = 1 if score.last_error > 1 else 3
    errors = [score.error, score.bias, score.last_error, score.last_bias, score.crps]
    errors += [truth.error, truth.bias, truth.last_error, truth.last_bias]
    held = " ".join(_held_words(p, each, score.count) for p, each in zip(PROBABILITIES, score.held, strict=True))
    cells = [f"{each:7.{digits + 1}f}" for each in errors]
    return f"{what:<24} {score.count:6d} {' '.join(cells)}  {held}"


def _held_words(probability: float, held: float, count: int) -> str:
    reach = 3 * sqrt(probability * (1 - probability) / count)
    return f"{100 * held:5.1f}±{100 * reach:.1f}{'*' if abs(held - probability) > reach else ' '}"


def walk_line(what: str, counts: Counts, how: str) -> str:
    """Put what came of walking by one policy in words."""
    years = counts.barrel_years
    numbers = (counts.unseen[how], counts.unseen_weeks[how], counts.unseen[f"{how}, by a tenth"])
    rates = [100 * each / years for each in (*numbers, counts.under, counts.for_nothing[how])]
    cells = " ".join(f"{each:8.1f}" for each in rates)
    return f"{what:<24} {years:7.0f} {counts.readings / years:8.2f} {counts.doses / years:6.2f} {cells}"


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cellars", type=int, nargs="?", default=60)
    parser.add_argument("--walks", type=int, default=None, help="how many of them are walked by interval and by risk")
    given = parser.parse_args()
    counts = together(walked(given.cellars, SCHEDULE))
    print(f"{given.cellars} cellars, {counts.barrel_years:.0f} barrel-years, read on a schedule of their own")
    print(f"{'':31}  against the reading: now, as last read, CRPS   against the truth: now, as last read    50/80/95 %")
    heads = ("error", "bias", "error", "bias", "CRPS", "error", "bias", "error", "bias")
    print(f"{'':24} {'n':>6} {' '.join(f'{head:>7}' for head in heads)}")
    for score, truth in zip(scores(each.came for each in counts.shown), against_truth(counts.shown), strict=True):
        print(line(score.name, score, truth))
    print("free SO2, by kind of cellar")
    for kind, shown in by_kind(counts.shown):
        if shown:
            print(line(kind, scores(each.came for each in shown)[0], against_truth(shown)[0]))
    print(f"complaints: {len(counts.complaints)} {counts.complaints[:3]}", flush=True)
    walks = given.cellars if given.walks is None else given.walks
    print(f"\n{walks} cellars walked weekly; for 100 barrel-years, but readings and doses for one")
    columns = ("years", "readings", "doses", "unseen", "weeks so", ">10 %", "all weeks", "for nothing")
    print(f"{'':24} {' '.join(f'{head:>8}' for head in columns)}")
    for policy, how in ((INTERVAL, "as last read"), (RISK, "aged")):
        found = walked(walks, policy)
        print(walk_line(f"by {policy}", together(found), how))
        for is_off in (False, True):
            some = [each for each in found if each.is_biased == is_off]
            if some:
                print(walk_line("  instruments off" if is_off else "  instruments true", together(some), how))
        print(f"  complaints: {sum(len(each.complaints) for each in found)}", flush=True)


if __name__ == "__main__":
    main()
