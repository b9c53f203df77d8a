"""The turns of the story: tastings, blends, bottlings, barrels retired and shifted, and the trouble worth finding."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from random import Random

from making.cast import HANDS, LOTS, ROOMS
from making.diary import Diary, litres, moment
from making.palates import ATTRIBUTES, Palates, truth_of
from making.palates import SCALE as SCALE_OF_ATTRIBUTES
from making.story import DISAGREES, FORGOTTEN, LEAKS, SOURS, Story, months, noon
from making.truth import Cask, Mead

FLIGHTS = (
    ("F-1", "first look", date(2025, 7, 23), ("B-003", "B-007", "B-012", "B-021", "B-023", "B-027", "B-030", "B-043")),
    ("F-2", "what goes into Salt Meadow", date(2025, 10, 29),
     ("B-001", "B-002", "B-007", "B-014", "B-019", "B-020", "B-025", "B-026", "B-031", "B-044")),
    ("F-3", "cherry and currant", date(2026, 5, 27),
     ("B-005", "B-010", "B-016", "B-017", "B-023", "B-028", "B-034", "B-040", "B-046", "B-010")),
    ("F-4", "autumn panel", date(2026, 10, 28),
     ("B-003", "B-006", "B-007", "B-012", "B-015", "B-023", "B-027", "B-028", "B-031", "B-036", "B-037", "B-039")),
)  # fmt: skip
BESIDE = (
    ("W-1", "winter look", date(2026, 1, 21), ("B-003", "B-007", "B-012", "B-023", "B-027", "B-031")),
    ("W-2", "spring look", date(2026, 3, 25), ("B-003", "B-007", "B-012", "B-023", "B-027", "B-036")),
    ("W-3", "summer look", date(2026, 8, 26), ("B-006", "B-007", "B-015", "B-023", "B-027", "B-037")),
)
"""Flights of what the laboratory left of its samples."""
WITH_ATTRIBUTES = ("F-3", "F-4", *(code for code, *_ in BESIDE))
JUDGED = (
    ("W-2", "B-012", "keep", "", "wood and honey in balance"),
    ("F-4", "B-003", "look again", "8", ""),
    ("F-4", "B-006", "look again", "12", "quiet; let it open"),
    ("F-4", "B-007", "ready", "", ""),
    ("F-4", "B-027", "ready", "", "with B-007 for the winter bottling"),
    ("F-4", "B-028", "quarantine", "", "vinegar in every glass of it; away from the others"),
    ("F-4", "B-039", "keep", "", ""),
)
"""What Maren wrote after a flight was revealed: flight, barrel, verdict, weeks, note."""
SCALE = "0-20"
WORDS = {
    "good": (
        "clean honey, long",
        "vanilla, soft wood",
        "heather and warm bread",
        "bright, well knit",
        "round, ripe fruit",
    ),
    "fair": ("a little closed", "wood stands apart", "short but clean", "needs time", "quiet nose"),
    "poor": ("nail varnish", "vinegar at the back", "pricked", "sharp, hot end", "tired"),
}
BLENDS = (
    ("Salt Meadow", "SALT-25", date(2025, 11, 18), ("B-001", "B-019", "B-002", "B-020", "B-014"), 750, "D-1"),
    ("Dusk", "DUSK-26", date(2026, 6, 16), ("B-010", "B-034", "B-040", "B-005", "B-017"), 500, "D-2"),
)
RETIRED = (
    ("B-019", date(2025, 12, 2), "seventh summer, stave split at the head; sawn for flower tubs"),
    ("B-040", date(2026, 6, 30), "musty after the last blend, steaming did not help"),
)
REFILLED = (("B-001", date(2025, 12, 16)), ("B-002", date(2025, 12, 16)), ("B-020", date(2025, 12, 17)),
            ("B-014", date(2025, 12, 17)), ("B-010", date(2026, 7, 21)), ("B-005", date(2026, 7, 21)))  # fmt: skip
SHIFTED = (
    ("B-043", date(2025, 8, 19), ("Loft", "B", "1", "1"), "out of the sun"),
    ("B-050", date(2026, 1, 27), ("Low", "B", "5", "1"), "in the place of B-019"),
    ("B-028", date(2026, 9, 15), ("Long", "C", "1", "1"), "away from the others"),
)
DEMIJOHN_ML, LINE_LOSS_ML, LEFT_ML = 25_000, 6_000, 4_000


def plan_the_turns(story: Story, tastings: "Tastings") -> None:
    """Plan everything that is not routine."""
    for code, name, day, tags in FLIGHTS:
        story.plan(noon(day, 9), tastings.flight(code, name, tags))
    for code, name, day, tags in BESIDE:
        story.plan(noon(day, 14), tastings.flight_beside(code, name, tags))
    for name, code, day, tags, bottle_ml, demijohn in BLENDS:
        story.plan(noon(day), _blend(story, name, tags))
        story.plan(noon(day + timedelta(days=9)), _fine(story))
        story.plan(noon(day + timedelta(days=24)), _bottle(story, code, bottle_ml, demijohn))
    for tag, day, reason in RETIRED:
        story.plan(noon(day, 14), _retire(story, tag, reason))
    for tag, day in REFILLED:
        story.plan(noon(day, 13), story.fill(story.casks[tag], swells=False))
    for tag, day, place, note in SHIFTED:
        story.plan(noon(day, 11), _shift(story, tag, place, note))
    story.plan(noon(date(2025, 12, 30), 9), _take_stock(story))
    for year, month in months():
        if month % 3 == 2:
            story.plan(noon(date(year, month, 20), 9), _read_tanks(story))
    _plan_trouble(story)


def _plan_trouble(story: Story) -> None:
    """Let a barrel leak, another sour, and a third be found a hand down and left so."""
    story.plan(noon(date(2026, 2, 10)), lambda _: setattr(story.casks[LEAKS], "leaks_ml_a_day", 130.0))
    story.plan(noon(date(2026, 3, 1)), lambda _: setattr(story.casks[SOURS], "sours_a_day", 0.0026))

    def is_a_hand_down(when: datetime) -> None:
        cells = {"property": "headspace_mm", "value": "82 mm", "note": "a hand down, no wet staves; ask Jory"}
        story.diary.write(when, "reading", "Maren", vessel=DISAGREES, **cells)

    story.plan(noon(date(2026, 11, 12), 11), is_a_hand_down)


def _blend(story: Story, name: str, tags: tuple[str, ...]) -> Callable[[datetime], None]:
    """Drain barrels into the blending tank, leaving the lees, which are poured out."""

    def task(when: datetime) -> None:
        tank, draws, heels = story.tanks["T-7"], [], {}
        for tag in tags:
            cask = story.casks[tag]
            cask.age_to(when)
            heels[tag] = 3000 + cask.book_ml % 1000
            drawn = cask.book_ml - heels[tag]
            assert cask.mead is not None
            tank.takes_in(drawn, cask.mead)
            draws.append(f"{tag}={litres(drawn)}")
        story.diary.write(when, "blend", "Jory", vessel="T-7", draws="; ".join(draws), note=name)
        for place, tag in enumerate(tags, 1):
            _clean(story, story.casks[tag], heels[tag], when + timedelta(minutes=20 * place))

    return task


def _clean(story: Story, cask: Cask, heel: int, when: datetime) -> None:
    """Pour out the heel, rinse, and keep the wood with SO2."""
    cells = {"vessel": cask.tag, "to": "poured away", "volume": litres(1000), "lees": litres(heel - 1000)}
    story.diary.write(when, "rack", "Iko", **cells)
    treatments = ["rinse"] if cask.tag == FORGOTTEN else ["rinse", "hot water", "so2 gas"]
    for place, treatment in enumerate(treatments, 1):
        story.diary.write(when + timedelta(minutes=3 * place), "treat", "Iko", vessel=cask.tag, treatment=treatment)
    cask.is_emptied()
    story.emptied.add(cask.tag)


def _fine(story: Story) -> Callable[[datetime], None]:
    def task(when: datetime) -> None:
        tank = story.tanks["T-7"]
        assert tank.mead is not None
        for hours, substance, grams in ((0, "bentonite", 0.4), (1, "metabisulphite", 0.04)):
            amount = f"{grams * tank.ml / 1000:.0f} g"
            at = when + timedelta(hours=hours)
            story.diary.write(at, "addition", "Jory", vessel="T-7", substance=substance, amount=amount)
        story.diary.write(when + timedelta(days=11), "treat", "Jory", vessel="T-7", treatment="filter")
        names = ("abv", "sg", "ph", "ta_g_l", "va_g_l", "free_so2_mg_l", "total_so2_mg_l")
        story.read_all("T-7", tank.mead, names, when + timedelta(days=12))

    return task


def _bottle(story: Story, code: str, bottle_ml: int, demijohn: str) -> Callable[[datetime], None]:
    def task(when: datetime) -> None:
        tank = story.tanks["T-7"]
        story.diary.write(when, "rack", "Jory", vessel="T-7", to=demijohn, volume=litres(DEMIJOHN_ML), note="library")
        bottles = (tank.ml - DEMIJOHN_ML - LINE_LOSS_ML - LEFT_ML) // bottle_ml
        cells = {"vessel": "T-7", "code": code, "bottles": str(bottles), "bottle": f"{bottle_ml} ml"}
        cells |= {"loss": litres(LINE_LOSS_ML), "empties": "yes", "cause": "spilled"}
        story.diary.write(when + timedelta(hours=5), "bottle", "Jory", **cells)
        tank.ml, tank.mead = 0, None

    return task


def _retire(story: Story, tag: str, reason: str) -> Callable[[datetime], None]:
    def task(when: datetime) -> None:
        story.diary.write(when, "retire", "Jory", vessel=tag, reason=reason)
        story.emptied.discard(tag)

    return task


def _shift(story: Story, tag: str, place: tuple[str, str, str, str], note: str) -> Callable[[datetime], None]:
    def task(when: datetime) -> None:
        cells = dict(zip(("room", "row", "bay", "tier"), place, strict=True))
        story.diary.write(when, "shift", "Iko", vessel=tag, note=note, **cells)
        story.casks[tag].age_to(when)
        story.casks[tag].carried_to = ROOMS[place[0]]

    return task


def _take_stock(story: Story) -> Callable[[datetime], None]:
    """Gauge the tanks at the end of the year: a little is always missing."""

    def task(when: datetime) -> None:
        for place, (tag, tank) in enumerate(story.tanks.items()):
            if tank.ml:
                tank.ml -= 100 * story.rng.randrange(5, 40)
                at = when + timedelta(minutes=10 * place)
                story.diary.write(at, "gauge", "Tove", vessel=tag, volume=litres(tank.ml), note="stocktaking")

    return task


def _read_tanks(story: Story) -> Callable[[datetime], None]:
    """Read what lies in tanks, which loses its sulphite too."""

    def task(when: datetime) -> None:
        for place, (tag, tank) in enumerate(story.tanks.items()):
            if tank.ml and tank.mead is not None:
                tank.mead.free_so2_mg_l *= 0.94
                story.read_all(tag, tank.mead, ("free_so2_mg_l", "ph"), when + timedelta(minutes=10 * place))

    return task


class Tastings:
    """The flights and what the panel gave them; what came beside the overall score draws on chance of its own."""

    def __init__(self, story: Story, seed: int) -> None:
        self._story = story
        self.flights: list[dict[str, str]] = []
        self.scores: list[dict[str, str]] = []
        self.servings: list[dict[str, str]] = []
        self.judged = Diary(Random(seed + 1))
        self._leaning = {taster: story.rng.gauss(0, 0.7) for taster in HANDS}
        self._palates = Palates(seed)

    def flight(self, code: str, name: str, tags: tuple[str, ...]) -> Callable[[datetime], None]:
        """Pull the samples, pour the glasses blind, and let the panel score them."""

        def task(when: datetime) -> None:
            for place, tag in enumerate(dict.fromkeys(tags)):
                cask = self._story.casks[tag]
                late = timedelta(days=1) if (code, tag) == ("F-1", "B-030") else timedelta(minutes=2)
                at = when + timedelta(minutes=3 * place)
                self._story.diary.write(at, "sample", "Maren", late, vessel=tag, volume="150 ml", note=code)
                cask.age_to(at)
                cask.is_drawn(150)
            poured, revealed = when + timedelta(hours=5), when + timedelta(hours=7)
            self._write_flight(code, name, poured, revealed)
            self._pour(code, tags, poured, self._story.rng)
            self._write_beside(code, poured, revealed)

        return task

    def flight_beside(self, code: str, name: str, tags: tuple[str, ...]) -> Callable[[datetime], None]:
        """Pour a flight of what there is already: no samples are pulled."""

        def task(when: datetime) -> None:
            revealed = when + timedelta(hours=2)
            self._write_flight(code, name, when, revealed)
            self._pour(code, tags, when, self._palates.rng)
            self._write_beside(code, when, revealed)

        return task

    def _write_flight(self, code: str, name: str, poured: datetime, revealed: datetime) -> None:
        flight = {"code": code, "name": name, "scale": SCALE, "poured": moment(poured), "revealed": moment(revealed)}
        if code in WITH_ATTRIBUTES:
            scales = "; ".join(f"{each}={SCALE_OF_ATTRIBUTES}" for each in ATTRIBUTES)
            flight |= {"attributes": scales, "revealed_by": "Maren"}
        self.flights.append(flight)

    def _write_beside(self, code: str, poured: datetime, revealed: datetime) -> None:
        """Write the orders in which the glasses were tasted, and what Maren decided."""
        if code in WITH_ATTRIBUTES:
            glasses = dict.fromkeys(row["glass"] for row in self.scores if row["flight"] == code)
            self.servings += self._palates.orders(code, glasses, moment(poured))
        for flight, tag, verdict, weeks, note in JUDGED:
            if flight == code:
                at = revealed + timedelta(minutes=20)
                cells = {"vessel": tag, "verdict": verdict, "weeks": weeks, "tasting": code, "note": note}
                self.judged.write(at, "judge", "Maren", **{name: cell for name, cell in cells.items() if cell})

    def _cells_beside(self, code: str, tag: str, taster: str, poured: datetime, value: float) -> dict[str, str]:
        cask = self._story.casks[tag]
        if code not in WITH_ATTRIBUTES or cask.filled_at is None:
            return {}
        days = (poured - cask.filled_at).total_seconds() / 86_400
        return self._palates.cells(taster, truth_of(cask, days), value)

    def _pour(self, code: str, tags: tuple[str, ...], poured: datetime, rng: Random) -> None:
        blind = rng.sample(range(112, 989), len(tags))
        for position, (tag, glass) in enumerate(zip(rng.sample(tags, len(tags)), blind, strict=True), 1):
            mead = self._story.casks[tag].mead
            assert mead is not None
            for minutes, taster in enumerate(HANDS, 20):
                value = _liking(tag, mead) + self._leaning[taster] + rng.gauss(0, 1.1)
                value = round(2 * min(19.0, max(2.0, value))) / 2
                words = rng.choice(WORDS["poor" if mead.va_g_l > 0.7 else "good" if value >= 13 else "fair"])
                row = {"flight": code, "glass": str(glass), "position": str(position), "vessel": tag}
                row |= {"taster": taster, "score": f"{value:g}", "words": words if rng.random() < 0.6 else ""}
                row |= self._cells_beside(code, tag, taster, poured, value)
                self.scores.append(row | {"written": moment(poured + timedelta(minutes=minutes))})


def _liking(tag: str, mead: Mead) -> float:
    """How good a barrel really is, on the panel's scale: each has its own luck, and sourness costs dearly."""
    luck = (int(tag[2:]) * 37 % 11 - 5) * 0.45
    return 13.2 + luck - 9.0 * max(0.0, mead.va_g_l - 0.45)


def lots_rows() -> list[dict[str, str]]:
    """Return the rows of lots.csv."""
    return [
        {
            "code": lot.code,
            "name": f"{lot.name} {lot.received.year}",
            "honey": lot.honey,
            "original_sg": f"{lot.original_sg:.3f}",
            "final_sg": f"{lot.final_sg:.3f}",
            "abv": f"{lot.abv} %",
            "cost_per_l": f"{lot.cost_per_l:.2f}",
            "pitched_on": (lot.received - timedelta(days=96)).isoformat(),
            "finished_on": (lot.received - timedelta(days=9)).isoformat(),
        }
        for lot in LOTS
    ]
