"""Three years of a simulated cellar, and how long the figures of a period take beside reading the rows they are of.

Run with `python -m tests.benchmarks.bench_periods`. Every week something is received, racked, topped, dipped, blended,
strengthened, sweetened, measured, sampled or bottled; some of it is written weeks late, and some is struck later.
"""

import os
import random
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

from sqlalchemy import select

from cooperage.book import Barrel, Book, Lot, Vessel
from cooperage.book.declared import acts
from cooperage.book.replay.events import MOVED, STANDS, events
from cooperage.book.store.tables import ENTRY, MOVE
from cooperage.errors import CooperageError
from cooperage.programme.kept import FOLDER
from cooperage.programme.periods.classes import classes_on
from cooperage.programme.periods.figures import figures_of
from cooperage.programme.periods.period import read_period
from cooperage.programme.periods.rounding import RETURN_UNITS

BEGAN = datetime(2023, 12, 31, 8, tzinfo=UTC)
BARRELS = tuple(f"B-{number}" for number in range(1, 9))
TANKS = ("T-1", "T-2", "T-3")


def furnish(book: Book) -> None:
    """Register tanks, barrels and lots on both sides of the class lines; of one the strength is not known."""
    used = Barrel(wood="oak", past_life="red wine", past_kind="wine", fills_before=2)
    with book.writing() as session:
        for tag in TANKS:
            session.add_vessel(Vessel("", tag, "tank", 2_000_000, "measured"))
        for number, tag in enumerate(BARRELS, 1):
            session.add_vessel(Vessel("", tag, "barrel", 225_000, "measured", ("Low", "A", number, 1), barrel=used))
        session.add_lot(Lot("", "DRY", "Dry", "heather", 1.105, 1.000, 13.9, 6.0, pitched_on=BEGAN))
        session.add_lot(Lot("", "STRONG", "Strong", "lime-blossom", 1.125, 1.000, 15.9, 8.0))
        session.add_lot(Lot("", "UNKNOWN", "Unknown", "clover"))


def draw_act(random_of: random.Random, number: int) -> acts.Act:
    """Draw something that may be done in a cellar; the book refuses what cannot be. Bottlings are numbered."""
    code, bottles = f"BOT-{random_of.randint(max(0, number - 27) // 9, number // 9)}", random_of.randint(1, 12)
    barrel, other, tank = random_of.choice(BARRELS), random_of.choice(BARRELS), random_of.choice(TANKS)
    ml = random_of.randint(1, 60_000)
    choices: tuple[Callable[[], acts.Act], ...] = (
        lambda: acts.Receive(
            lot=random_of.choice(("DRY", "STRONG", "UNKNOWN")), vessel=tank, volume=10 * ml, sure=True
        ),
        lambda: acts.Fill(vessel=barrel, source=tank, sure=True),
        lambda: acts.Top(vessel=barrel, source=tank, volume=random_of.randint(50, 3000), sure=True),
        lambda: acts.Gauge(vessel=barrel, volume=random_of.randint(150_000, 225_000), sure=True),
        lambda: acts.Rack(vessel=barrel, destination=tank, lees=random_of.randint(0, 2000), sure=True),
        lambda: acts.Rack(vessel=tank, destination=acts.POURED_AWAY, volume=ml, sure=True),
        lambda: acts.Sample(vessel=barrel, volume=random_of.randint(50, 750), sure=True),
        lambda: acts.Addition(vessel=tank, substance="honey", amount=float(ml) / 3, sure=True),
        lambda: acts.Addition(vessel=tank, substance="spirit", amount=float(ml), sure=True),
        lambda: acts.Addition(vessel=tank, substance="water", amount=float(ml) / 2, sure=True),
        lambda: acts.Blend(vessel=tank, draws=((barrel, ml), (other, ml // 2 + 1)), sure=True),
        lambda: acts.Remove(code=code, bottles=bottles, went="sold", sure=True),
        lambda: acts.Remove(code=code, bottles=bottles, went="broken", sure=True),
        lambda: acts.TakeBack(code=code, bottles=1 + bottles // 4, sure=True),
        lambda: acts.PourBack(code=code, bottles=bottles, vessel=tank, loss=bottles, sure=True),
        lambda: acts.Reading(vessel=barrel, property="abv", value=random_of.uniform(13.0, 17.0), sure=True),
        lambda: acts.Reading(vessel=tank, property="abv", value=random_of.uniform(13.0, 17.0), sure=True),
        lambda: acts.Bottle(
            vessel=tank, code=f"BOT-{number // 9}", bottles=random_of.randint(9, 120), loss=ml // 20, sure=True
        ),
    )
    return random_of.choice(choices)()


def simulate(book: Any, months: int, seed: int, acts_a_week: int = 3) -> Iterator[datetime]:
    """Write random weeks, some late and some struck; yields the moment after each month, when it may be closed."""
    random_of = random.Random(seed)
    book.now.time = BEGAN
    furnish(book)
    book.write(acts.Receive(lot="DRY", vessel="T-1", volume=1_500_000))
    book.write(acts.Receive(lot="STRONG", vessel="T-2", volume=900_000))
    number, month = 0, BEGAN + timedelta(hours=16)
    for _ in range(months):
        month = (month + timedelta(days=40)).replace(day=1, hour=0)
        while book.now.time < month:
            book.now.time += timedelta(days=7)
            for _ in range(acts_a_week):
                number += 1
                _write_one(book, random_of, draw_act(random_of, number))
        yield month


def _write_one(book: Any, random_of: random.Random, act: acts.Act) -> None:
    with suppress(CooperageError):
        if random_of.random() < 0.07:
            with book.reading() as connection:
                standing = list(connection.execute(select(ENTRY.c.id).where(STANDS).order_by(ENTRY.c.id)).scalars())
            if len(standing) > 2:
                book.write(acts.Strike(entry=random_of.choice(standing[2:]), sure=True))
            return
        late = timedelta(days=random_of.uniform(1, 90)) if random_of.random() < 0.12 else timedelta()
        object.__setattr__(act, "at", max(book.now.time - late, BEGAN + timedelta(hours=17)))
        book.write(act)


class _Clock:
    time = BEGAN

    def __call__(self) -> datetime:
        self.time += timedelta(minutes=1)
        return self.time


def _seconds(work: Callable[[], object]) -> float:
    began = perf_counter()
    work()
    return perf_counter() - began


def main() -> None:
    """Print how long figures take, as a ratio to reading the rows they are of, and to reading the states too."""
    with TemporaryDirectory() as folder:
        os.environ[FOLDER] = ""
        book = Book.create(str(Path(folder) / "cellar.db"), _Clock())
        for _ in simulate(book, 36, seed=1, acts_a_week=40):
            pass
        span = read_period("2024-01-01..2026-12-31", book.now())
        with book.reading() as connection:
            rows = select(ENTRY.c.happened_at, *(MOVE.c[name] for name in MOVED)).join(MOVE)
            plain = _seconds(lambda: connection.execute(rows).all())
            read = _seconds(lambda: list(events(connection)))
            classes = classes_on(connection, BEGAN.date())
            whole = _seconds(lambda: figures_of(connection, span, classes, RETURN_UNITS["gal"]))
            os.environ[FOLDER] = str(Path(folder) / "kept")
            figures_of(connection, span, classes, RETURN_UNITS["gal"])
            again = _seconds(lambda: figures_of(connection, span, classes, RETURN_UNITS["gal"]))
            os.environ[FOLDER] = ""
            count = len(connection.execute(rows).all())
            first = figures_of(
                connection, read_period("2024-01-01..2026-11-30", book.now()), classes, RETURN_UNITS["L"]
            )
            last = read_period("2026-12", book.now())
            left = [first[0].left]
            month = _seconds(
                lambda: figures_of(connection, last, classes, RETURN_UNITS["gal"], left, is_unchanged=True)
            )
        print(f"{count} moves: reading them {plain:.3f} s, reading events {read / plain:.1f} times that")
        print(f"figures of three years {whole / plain:.1f} times, {whole / read:.1f} times reading the events")
        print(f"the same found again, as it was kept: {again / whole:.3f} of that time")
        print(f"figures of the last month, what came before filed: {month / plain:.1f} times")
        book.close()


if __name__ == "__main__":
    main()
