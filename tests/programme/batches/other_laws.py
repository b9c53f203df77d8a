"""More fermentations that are simulated by other laws than the one that is tested, with what cellars do to them.

Each law gives the share of the way that is done on a day: growth after Gompertz; two sugars, of which the second is
eaten slowly; inhibition by alcohol that comes late; the same law in a room that cools or is warmed. What a
hydrometer adds is a bias of its own, noise, and the marks one reads it to. All numbers are common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import exp
from random import Random

from cooperage.programme.batches.curve import ENDED
from cooperage.programme.batches.gravities import Took
from cooperage.programme.batches.must import expected_end
from tests.programme.batches.simulated import Simulated

STEP = 0.125
LONGEST = 240.0


@dataclass(frozen=True)
class Hydrometer:
    """How gravity is read: standard deviations of its bias and of a reading, and its marks [SG]."""

    bias: float = 0.0
    noise: float = 0.0007
    marks: float = 0.0001


GOOD, POOR = Hydrometer(), Hydrometer(0.0007, 0.0010, 0.001)
Law = Callable[[Random], list[float]]
"""A law gives the share that is done at each step."""


@dataclass(frozen=True)
class Sort:
    """A sort of fermentation: its law, how it is read, and how often [days between readings, about]."""

    law: Law
    hydrometer: Hydrometer = field(default=GOOD)
    every: float = 1.0


def gompertz(chance: Random) -> list[float]:
    """Return growth after Gompertz (1825): quick to begin, slow to end."""
    half, steep = chance.lognormvariate(1.5, 0.35), chance.lognormvariate(-1.2, 0.3)
    at_start = exp(-exp(steep * half))
    return _steps(lambda day: (exp(-exp(-steep * (day - half))) - at_start) / (1.0 - at_start))


def two_sugars(chance: Random) -> list[float]:
    """Return two sugars eaten together, each as much of it as is left; the second at a third of the first's pace."""
    lag, pace, slow = chance.uniform(0.5, 2.0), chance.lognormvariate(-1.2, 0.3), chance.uniform(0.25, 0.45)
    part = chance.uniform(0.4, 0.6)

    def done(day: float) -> float:
        since = max(0.0, day - lag)
        return 1.0 - part * exp(-pace * since) - (1.0 - part) * exp(-slow * pace * since)

    return _steps(done)


def late(chance: Random, warmth: Callable[[float], float] = lambda _: 1.0) -> list[float]:
    """Return eating that hardly slows until alcohol is high, and then much (by its power of 2.5).

    `warmth` is by how much it is quicker or slower on a day.
    """
    lag, pace, sated = chance.uniform(0.5, 3.0), chance.lognormvariate(-1.3, 0.4), chance.uniform(0.05, 0.3)
    done, day, found = 0.0, 0.0, []
    while day < LONGEST:
        found.append(done)
        left = 1.0 - done
        begun = 1.0 - exp(-max(0.0, day - lag))
        done = min(1.0, done + STEP * pace * warmth(day) * begun * (1.0 - 0.85 * done**2.5) * left / (left + sated))
        day += STEP
    return found


def in_steps(chance: Random) -> list[float]:
    """Return the same in a room that is cooled or warmed twice: the pace doubles every 9 °C or so."""
    first, second = chance.uniform(3.0, 8.0), chance.uniform(9.0, 18.0)
    paces = [2.0 ** (chance.uniform(-4.0, 4.0) / 9.0) for _ in range(3)]
    return late(chance, lambda day: paces[(day > first) + (day > second)])


def _steps(done: Callable[[float], float]) -> list[float]:
    return [min(1.0, max(0.0, done(nth * STEP))) for nth in range(int(LONGEST / STEP))]


SORTS = {
    "gompertz": Sort(gompertz),
    "two sugars": Sort(two_sugars),
    "late": Sort(late),
    "steps of warmth": Sort(in_steps),
    "poor hydrometer": Sort(late, POOR),
    "few readings": Sort(in_steps, POOR, 2.6),
}


def ferment_by(name: str, seed: int, days: float = 30.0) -> Simulated:
    """Simulate one of a sort."""
    sort, chance = SORTS[name], Random(f"{name} {seed}")
    original = chance.uniform(1.070, 1.140)
    sold = chance.choice((12.0, 14.0, 16.0, 18.0))
    expected = expected_end(original, sold)
    end = expected.sg + chance.gauss(0.0, expected.sd)
    track = [original + (end - original) * done for done in sort.law(chance)]
    end_day = next((nth * STEP for nth, sg in enumerate(track) if sg <= end + ENDED), LONGEST)
    return Simulated(original, sold, _read(sort, chance, track, days), end, end_day, None)


def _read(sort: Sort, chance: Random, track: list[float], days: float) -> list[Took]:
    meter, bias = sort.hydrometer, chance.gauss(0.0, sort.hydrometer.bias)
    took, at = [], 0.0
    while at <= days:
        seen = track[round(at / STEP)] + bias + chance.gauss(0.0, meter.noise)
        took.append(Took(at, round(round(seen / meter.marks) * meter.marks, 5)))
        at += sort.every * chance.uniform(0.7, 1.3)
    return took
