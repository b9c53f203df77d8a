"""Which readings are worth most in the cellar as a whole: those that may change what is done at a vessel.

What is done hangs on which side of a limit a figure lies, and one goes by the likelier side. A reading takes part of
the doubt away and moves the figure by as much as that part may be off, so that one is less often wrong: the value of
sample information (Raiffa and Schlaifer (1961), Applied Statistical Decision Theory, ch. 4). It is counted in the
litres about which one would be wrong without it. What one barrel's reading shows of the others is left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from math import log, sqrt
from statistics import NormalDist, fmean

from cooperage.book import Cellar, Standing
from cooperage.book.cellar import MOLECULAR
from cooperage.book.dangers.lingering import DRY_G_L, YEAST_GIVES_UP_ABV, is_stabilised
from cooperage.book.declared.properties import PROPERTIES
from cooperage.programme.upkeep.defaults import DEFAULT_FLOOR, GRAVITY_MOVES, upkeep_of
from cooperage.units import DEFAULT, Quantity, Units, show

MOST = 10
"""So many readings are named."""
_LEAST = 0.005
"""Of the chance of being wrong: less is not worth the walk (common practice, no source)."""
_FAR = 12.0
"""A figure so many ordinary readings' doubts from its limit is not looked at (common practice, no source)."""
_STANDARD = NormalDist()
_STEPS = 32


class Decision(StrEnum):
    """What a reading may decide."""

    DOSE = "dose"
    PROTECTED = "protected"
    ACIDITY = "acidity"
    GRAVITY = "gravity"
    BOTTLING = "bottling"
    CLASS = "class"


@dataclass(frozen=True, slots=True)
class _Part:
    """A figure that can be measured: one standard deviation of it, and of a reading of it, in the unit of the limit."""

    name: str
    sd: float
    noise: float

    @property
    def moves(self) -> float:
        """How far a reading may move the figure, one standard deviation."""
        return self.sd**2 / sqrt(self.sd**2 + self.noise**2) if self.sd > 0 else 0.0


@dataclass(frozen=True, slots=True)
class _Question:
    """Whether a figure with a standard deviation is under (`sign` -1) or over (1) a limit, and what may be measured."""

    decides: Decision
    words: str
    value: float
    sd: float
    limit: float
    sign: int
    parts: tuple[_Part, ...]

    def chance(self, moved: float = 0.0, sd: float | None = None) -> float:
        """Return the chance that it is beyond the limit, when a reading has moved it and left so much doubt."""
        beyond, left = self.sign * (self.value + moved - self.limit), self.sd if sd is None else sd
        return _STANDARD.cdf(beyond / left) if left > 0 else float(beyond > 0)


@dataclass(frozen=True, slots=True)
class ReadingWorth:
    """What measuring one figure of one vessel would decide.

    `chance` is how likely `what` is now, `low` and `high` between which it will mostly be (two times of three) once it
    is measured. `wrong` is the chance of being wrong in taking the likelier side now, `wrong_after` after the reading.
    """

    vessel: str
    name: str
    decides: Decision
    what: str
    chance: float
    low: float
    high: float
    wrong: float
    wrong_after: float
    litres: float

    @property
    def spared_l(self) -> float:
        """The litres about which one would be wrong without the reading, on average [L]."""
        return self.litres * (self.wrong - self.wrong_after)


WORTH_HEAD = ("vessel", "measure", "decides", "whether", "likely", "spares")
WORTH_FOOT = (
    "Likely: now, and between what it will mostly be once it is measured. Spares: how much mead one would be wrong\n"
    "about without the reading, on average."
)
NOTHING_WORTH = "No reading would change an answer."


def worth_cells(worth: ReadingWorth, units: Units = DEFAULT) -> tuple[str, ...]:
    """Return a reading and its worth in the columns of `WORTH_HEAD`."""
    now, low, high = (f"{100 * min(max(share, 0.01), 0.99):.0f}" for share in (worth.chance, worth.low, worth.high))
    return (
        worth.vessel,
        PROPERTIES[worth.name].label,
        worth.decides.value,
        worth.what,
        f"{now} %, then {low} to {high} %",
        show(Quantity.VOLUME, round(1000 * worth.spared_l), units),
    )


def readings_worth_most(cellar: Cellar, units: Units = DEFAULT, most: int = MOST) -> list[ReadingWorth]:
    """Return the readings that would spare most, the best first: of each figure of a vessel what it decides best.

    `cellar` is aged. What was measured within the last day is not named again; words are in `units`.
    """
    best: dict[tuple[str, str], ReadingWorth] = {}
    for standing in cellar.in_walking_order():
        for found in _of_vessel(standing, units):
            key = found.vessel, found.name
            if key not in best or found.spared_l > best[key].spared_l:
                best[key] = found
    return sorted(best.values(), key=lambda worth: -worth.spared_l)[:most]


def _of_vessel(standing: Standing, units: Units) -> Iterator[ReadingWorth]:
    if standing.is_retired or not standing.ml:
        return
    for question in _questions(standing, units):
        wrong = min(question.chance(), 1 - question.chance())
        if wrong >= _LEAST:
            for part in question.parts:
                worth = _worth(standing, question, part, wrong)
                if worth.wrong - worth.wrong_after >= _LEAST:
                    yield worth


def _worth(standing: Standing, question: _Question, part: _Part, wrong: float) -> ReadingWorth:
    moves = part.moves
    left = sqrt(max(0.0, question.sd**2 - moves**2))
    after = [question.chance(moves * step, left) for step in _likely_steps()]
    wrong_after = fmean(min(each, 1 - each) for each in after)
    low, high = sorted(question.chance(moves * step, left) for step in (-1.0, 1.0))
    chance, litres = question.chance(), standing.litres
    return ReadingWorth(
        standing.tag, part.name, question.decides, question.words, chance, low, high, wrong, wrong_after, litres
    )


@cache
def _likely_steps() -> tuple[float, ...]:
    """Return where a normal figure may come to lie, each as likely, in its standard deviations."""
    return tuple(_STANDARD.inv_cdf((nth + 0.5) / _STEPS) for nth in range(_STEPS))


def _questions(standing: Standing, units: Units) -> Iterator[_Question]:
    if standing.vessel.is_barrel:
        yield from _sulphite(standing, units)
        yield from _acidity(standing, units)
        yield from _gravity(standing, units)
    yield from _bottling(standing, units)
    yield from _class(standing, units)


def _sulphite(standing: Standing, units: Units) -> Iterator[_Question]:
    """Ask whether molecular SO2 is under the target of a dose, and under the floor where that is another."""
    course, free = standing.course(MOLECULAR), standing.value("free_so2_mg_l")
    if course is None or not free:
        return
    value, sd = course.after(0.0)
    # It goes by the power of ten of the pH, and rises with warmth.
    shares = {"free_so2_mg_l": value / free, "ph": log(10.0) * value}
    shares["temperature_c"] = standing.molecular_per_degree * value
    parts = tuple(part for name, by in shares.items() for part in _parts(standing, name, by))
    floor = upkeep_of(standing).molecular_so2_floor_mg_l or 0.0
    target = max(DEFAULT_FLOOR, floor)
    for decides, limit in ((Decision.DOSE, target), *([(Decision.PROTECTED, floor)] if floor < target else [])):
        words = f"molecular SO2 under {show(Quantity.SULPHITE, limit, units, digits=2)}"
        yield _Question(decides, words, value, sd, limit, -1, parts)


def _acidity(standing: Standing, units: Units) -> Iterator[_Question]:
    ceiling = upkeep_of(standing).va_ceiling_g_l or 0.0
    yield from _of_figure(standing, Decision.ACIDITY, "va_g_l", ceiling, 1, units)


def _gravity(standing: Standing, units: Units) -> Iterator[_Question]:
    """Ask whether gravity has fallen since it was first measured in this fill, by as much as is worth a look."""
    state = standing.state
    first = next((each.value for each in state.rereads.get("sg", []) if each.fill == state.fills), None)
    if first is not None:
        yield from _of_figure(standing, Decision.GRAVITY, "sg", first - GRAVITY_MOVES, -1, units)


def _bottling(standing: Standing, units: Units) -> Iterator[_Question]:
    """Ask whether mead that is not stabilised could ferment again in the bottle: neither dry nor strong."""
    abv, sugar = standing.value("abv"), standing.value("sugar_g_l")
    if abv is None or sugar is None or is_stabilised(standing.state):
        return
    if abv < YEAST_GIVES_UP_ABV:
        yield from _of_figure(standing, Decision.BOTTLING, "sugar_g_l", DRY_G_L, 1, units)
    if sugar > DRY_G_L:
        yield from _of_figure(standing, Decision.BOTTLING, "abv", YEAST_GIVES_UP_ABV, -1, units)


def _class(standing: Standing, units: Units) -> Iterator[_Question]:
    """Ask on which side of the nearest class line the strength lies."""
    abv = standing.value("abv")
    if abv is not None:
        line = min(standing.facts.class_lines, key=lambda each: abs(each - abv))
        yield from _of_figure(standing, Decision.CLASS, "abv", line, 1, units)


def _of_figure(
    standing: Standing, decides: Decision, name: str, limit: float, sign: int, units: Units
) -> Iterator[_Question]:
    """Ask on which side of a limit one figure lies, unless it is known to be far from it or was measured today."""
    declared, course, parts = PROPERTIES[name], standing.course(name), _parts(standing, name)
    if course is None or not parts:
        return
    value, sd = course.after(0.0)
    if abs(value - limit) <= _FAR * declared.uncertainty:
        words = f"{declared.label} {'over' if sign > 0 else 'under'} {show(declared.quantity, limit, units)}"
        yield _Question(decides, words, value, sd, limit, sign, parts)


def _parts(standing: Standing, name: str, by: float = 1.0) -> tuple[_Part, ...]:
    """Return a figure as a part of what hangs on it, so much of that for each unit; none if it was measured today."""
    read, course = standing.state.reads.get(name), standing.course(name)
    is_fresh = read is not None and not read.changed and (standing.days_since(name) or 0.0) < 1.0
    return () if course is None or is_fresh else (_Part(name, by * course.after(0.0)[1], by * standing.noise(name)),)
