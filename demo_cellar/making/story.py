"""Two years in the demo cellar: what happened, day by day, and what was written of it.

A queue of tasks runs in order of time; a task does something to the truth and writes what the hand would have written.
"""

import heapq
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from making.cast import FAMILIES, HANDS, KEG_OF, LOTS, ONLY_WHEN_OPENED, TANK_OF, TANKS, Lot
from making.diary import PROMPTLY, Diary, litres
from making.truth import Cask, Mead

FIRST_ROUND, LAST_DAY = (2025, 1), date(2026, 11, 20)
KEG_ML, KEG_LOW_ML = 50_000, 22_000
LEAKS, SOURS, LOW_IN_SULPHITE, DISAGREES, FORGOTTEN = "B-025", "B-028", "B-033", "B-009", "B-034"
DIPPED = ("B-003", "B-012", "B-022", "B-036")
LATE = {("reading", "B-012", 7), ("reading", "B-043", 9), ("top", "B-036", 16)}
WRONG_KEG, WRONG_BARREL = ("B-007", 8), "B-023"
TO_READ = ("free_so2_mg_l", "ph", "va_g_l")
TO_READ_SELDOM = ("abv", "sg", "ta_g_l")


@dataclass
class Store:
    """A tank or keg: its mead, and its litres as the book has them."""

    ml: int = 0
    mead: Mead | None = None

    def takes_in(self, ml: int, mead: Mead) -> None:
        """Take mead in."""
        self.mead = mead if self.mead is None else self.mead.joined(self.ml, mead, ml)
        self.ml += ml


@dataclass
class Story:
    """The cellar while the story runs."""

    casks: dict[str, Cask]
    diary: Diary
    rng: Random
    tanks: dict[str, Store] = field(default_factory=lambda: {tag: Store() for tag, _ in TANKS})
    kegs: dict[str, Store] = field(default_factory=lambda: {family: Store() for family in FAMILIES})
    emptied: set[str] = field(default_factory=set)
    has_slipped: bool = False
    _queue: list[tuple[datetime, int, Callable[[datetime], None]]] = field(default_factory=list)

    def plan(self, when: datetime, task: Callable[[datetime], None]) -> None:
        """Put a task in the queue; tasks of one moment run in the order they were planned."""
        heapq.heappush(self._queue, (when, len(self.diary.rows) * 10_000 + len(self._queue), task))

    def run(self) -> None:
        """Run the queue to its end."""
        while self._queue:
            when, _, task = heapq.heappop(self._queue)
            task(when)

    def hand(self) -> str:
        """Pick whoever is at work."""
        return self.rng.choice(HANDS)

    # -- lots and fills ------------------------------------------------------------------------------------------

    def receive(self, lot: Lot) -> Callable[[datetime], None]:
        """Receive a lot in its tank, read it, and fill the keg that tops from it."""

        def task(when: datetime) -> None:
            mead = Mead(lot.abv, lot.final_sg, lot.ph, lot.ta)
            self.tanks[lot.tank].takes_in(lot.litres * 1000, mead)
            self.diary.write(when, "receive", "Jory", lot=lot.code, vessel=lot.tank, volume=f"{lot.litres} L")
            names = (*TO_READ_SELDOM, *TO_READ, "total_so2_mg_l")
            self.read_all(lot.tank, mead, names, when + timedelta(hours=2))
            self.refill_keg(lot.code[:2], when + timedelta(hours=4))

        return task

    def refill_keg(self, family: str, when: datetime) -> None:
        """Fill a keg from its tank as far as the tank goes."""
        keg, tank = self.kegs[family], self.tanks[TANK_OF[family]]
        ml = min(KEG_ML - keg.ml, tank.ml - 10_000)
        if ml < 5_000 or tank.mead is None:
            return
        tank.ml -= ml
        keg.takes_in(ml, tank.mead)
        self.diary.write(when, "rack", "Jory", vessel=TANK_OF[family], to=KEG_OF[family], volume=litres(ml))

    def fill(self, cask: Cask, swells: bool = True) -> Callable[[datetime], None]:
        """Fill a barrel to the bung from its family's tank."""

        def task(when: datetime) -> None:
            tank = self.tanks[TANK_OF[cask.barrel.family]]
            assert tank.mead is not None
            if swells:
                self.diary.write(when - timedelta(days=1), "treat", "Iko", vessel=cask.tag, treatment="swell")
            room = cask.barrel.capacity_ml
            tank.ml -= room
            cask.fill(tank.mead, when, cask.barrel.family)
            self.emptied.discard(cask.tag)
            self.diary.write(when, "fill", "Iko", vessel=cask.tag, from_=TANK_OF[cask.barrel.family])
            if cask.barrel.fills_before == 0 and cask.fills == 1:
                for days in (7, 14, 21):
                    self.plan(when + timedelta(days=days), lambda later: self.top(cask, later, 0))

        return task

    # -- the rounds ----------------------------------------------------------------------------------------------

    def walk(self, room: str, number: int) -> Callable[[datetime], None]:
        """Walk one room: sample what is due, top what is low, smell what is empty."""

        def task(when: datetime) -> None:
            if room == "Low":
                for family, keg in self.kegs.items():
                    if keg.ml < KEG_LOW_ML:
                        self.refill_keg(family, when - timedelta(minutes=60 - 4 * FAMILIES.index(family)))
            sampled = []
            here = [cask for cask in self.casks.values() if cask.room.name == room]
            for stop, cask in enumerate(here):
                at = when + timedelta(minutes=4 * stop)
                if cask.mead is not None:
                    sampled += [cask] if self.visit(cask, at, number) else []
                elif cask.tag in self.emptied and cask.tag != FORGOTTEN:
                    self.diary.write(at, "treat", self.hand(), vessel=cask.tag, treatment="sniff")
            evening = datetime.combine(when.date(), time(15), UTC)
            for place, cask in enumerate(sampled):
                self.plan(evening + timedelta(minutes=5 * place), self.lab(cask, number))

        return task

    def visit(self, cask: Cask, when: datetime, number: int) -> bool:
        """Sample and top one barrel; say whether it was sampled."""
        is_watched = cask.tag == SOURS and number >= 17
        place = list(self.casks).index(cask.tag)
        is_due = is_watched or (number + place) % 3 == 0
        if cask.tag == DISAGREES and number > 19:
            return False
        if is_due:
            cask.is_drawn(100)
            self.diary.write(when, "sample", self.hand(), vessel=cask.tag, volume="100 ml")
        if number == 13 and cask.tag in DIPPED:
            cask.age_to(when)
            self.dip(cask, when + timedelta(minutes=1))
        if is_due or cask.tag not in ONLY_WHEN_OPENED:
            self.top(cask, when + timedelta(minutes=2), number)
        return is_due

    def top(self, cask: Cask, when: datetime, number: int) -> None:
        """Top a barrel to the bung from its family's keg, by a jug that shows 50 ml."""
        if cask.mead is None:
            return
        cask.age_to(when)
        ml = 50 * round((cask.barrel.capacity_ml - cask.ml) / 50)
        family = cask.family
        if ml < 100:
            return
        if self.kegs[family].ml < ml:
            self.refill_keg(family, when - timedelta(minutes=1))
        keg = self.kegs[family]
        if keg.ml < ml or keg.mead is None:
            return
        cells = {"vessel": cask.tag, "volume": litres(ml)}
        if cask.leaks_ml_a_day:
            cells |= {"sure": "yes", "note": "weeps at the croze again" if number % 2 else "wet below the bilge"}
        hand = self.hand()
        if (cask.tag, number) == WRONG_KEG:
            wrong = self.diary.write(when, "top", hand, from_="K-02", **cells | {"sure": "yes"})
            self.diary.write(when + timedelta(minutes=1), "strike", hand, entry=wrong, note="it was K-01")
            when += timedelta(seconds=90)
        late = timedelta(days=2) if ("top", cask.tag, number) in LATE else PROMPTLY
        self.diary.write(when, "top", hand, late, from_=KEG_OF[family], **cells)
        keg.ml -= ml
        cask.is_topped(ml, keg.mead)

    def dip(self, cask: Cask, when: datetime) -> None:
        """Gauge a barrel by the dry part of the dip: about 0.2 L at 10 mm in a 225 L barrel, 4.7 L at 50 mm."""
        missing = max(0.05, (cask.barrel.capacity_ml - cask.ml) / 1000) * 225_000 / cask.barrel.capacity_ml
        dry = 10 * (missing / 0.2) ** 0.51
        self.diary.write(when, "gauge", "Tove", vessel=cask.tag, headspace=f"{dry:.0f} mm", note="stocktaking")

    # -- the lab -------------------------------------------------------------------------------------------------

    def lab(self, cask: Cask, number: int) -> Callable[[datetime], None]:
        """Read a sample, and dose the barrel next morning where its molecular SO2 is low."""

        def task(when: datetime) -> None:
            if cask.mead is None:
                return
            seldom = TO_READ_SELDOM if number % 6 in (2, 3, 4) else ()
            late = timedelta(days=3) if ("reading", cask.tag, number) in LATE else PROMPTLY
            read = self.read_all(cask.tag, cask.mead, (*TO_READ, *seldom), when, late)
            need = 0.5 * (1 + 10 ** (read["ph"] - 1.81)) - read["free_so2_mg_l"]
            is_neglected = cask.tag == LOW_IN_SULPHITE and number >= 5
            if need > 4 and not is_neglected:
                grams = round(2 * min(0.085 * cask.ml / 1000, need * cask.ml / 576_000 / 0.6)) / 2
                morning = datetime.combine(when.date() + timedelta(days=1), time(8), UTC)
                self.plan(morning + (when - datetime.combine(when.date(), time(15), UTC)), self.dose(cask, grams))

        return task

    def read_all(
        self, tag: str, mead: Mead, names: Iterable[str], when: datetime, late: timedelta = PROMPTLY
    ) -> dict[str, float]:
        """Write a reading of each property, in the lab's own units."""
        units = {"abv": " %", "ta_g_l": " g/L", "va_g_l": " g/L", "free_so2_mg_l": " mg/L", "total_so2_mg_l": " mg/L"}
        read = {}
        for place, name in enumerate(names):
            shown = mead.read(name, self.rng)
            read[name] = float(shown)
            cells = {"vessel": tag, "property": name, "value": shown + units.get(name, "")}
            self.diary.write(when + timedelta(seconds=30 * place), "reading", "Tove", late, **cells)
        return read

    def dose(self, cask: Cask, grams: float) -> Callable[[datetime], None]:
        """Add metabisulphite; once it is written to the wrong barrel, struck, and written again."""

        def task(when: datetime) -> None:
            if cask.mead is None:
                return
            cells = {"substance": "metabisulphite", "amount": f"{grams:g} g"}
            if when.year == 2026 and not self.has_slipped:
                self.has_slipped = True
                slip = self.diary.write(when, "addition", "Iko", vessel=WRONG_BARREL, **cells)
                self.diary.write(when + timedelta(minutes=1), "strike", "Iko", entry=slip, note="the barrel next to it")
                when += timedelta(seconds=90)
            cask.is_dosed(grams)
            self.diary.write(when, "addition", "Iko", vessel=cask.tag, **cells)

        return task


def noon(day: date, hour: int = 9) -> datetime:
    """Return an hour of a day."""
    return datetime.combine(day, time(hour), UTC)


def months() -> list[tuple[int, int]]:
    """List the months of the rounds."""
    year, month = FIRST_ROUND
    return [(year + (month - 1 + count) // 12, (month - 1 + count) % 12 + 1) for count in range(23)]


def plan_the_ordinary(story: Story) -> None:
    """Plan lots, first fills and rounds; in the last November only the Low room was walked."""
    for lot in LOTS:
        story.plan(noon(lot.received), story.receive(lot))
    for place, cask in enumerate(story.casks.values()):
        minutes = timedelta(minutes=10 * (place % 24))
        story.plan(noon(cask.barrel.first_fill, 10) + minutes, story.fill(cask))
    for number, (year, month) in enumerate(months(), 1):
        is_last = (year, month) == (2026, 11)
        for place, room in enumerate(("Low",) if is_last else ("Low", "Long", "Loft")):
            day = date(year, month, 18 if is_last else 5 + place)
            story.plan(noon(day, 10), story.walk(room, number))
