"""Fermentations that are simulated by another model than the one that is tested: yeast that grows, eats and gives up.

Sugar is eaten by yeast that grows to a limit, more slowly as sugar runs out and alcohol rises, and faster where it is
warmer; it begins after a lag. The curve of `programme/batches/curve.py` knows nothing of this.
"""

from dataclasses import dataclass
from random import Random

from cooperage.programme.batches.curve import ENDED
from cooperage.programme.batches.gravities import Took
from cooperage.programme.batches.must import fermented

HOURS = 6.0
STEPS = 20


@dataclass(frozen=True)
class Simulated:
    """A fermentation: its gravities, where and when it truly ended, and what is written of its yeast."""

    original: float
    tolerance: float
    took: list[Took]
    end: float
    end_day: float
    stuck_day: float | None


def ferment(seed: int, *, sticks: bool = False, every: float = 1.0, days: float = 60.0) -> Simulated:
    """Simulate one; one that sticks stops on a day between a fifth and three fifths of its way."""
    chance = Random(seed)
    original = chance.uniform(1.075, 1.135)
    sold = chance.choice((12.0, 14.0, 16.0, 18.0))
    gives_up = sold + chance.gauss(0.0, 1.0)
    takes = min(0.97, chance.gauss(0.90, 0.03))
    lag, pace = chance.uniform(0.3, 2.5), chance.lognormvariate(0.0, 0.35)
    warmth, stops_at = chance.uniform(-0.15, 0.15), chance.uniform(0.2, 0.6)
    table = [fermented(original, nth / STEPS) for nth in range(STEPS + 1)]
    share, yeast, day, track = 0.0, 0.05, 0.0, [(0.0, original)]
    stuck_day = None
    while day < 120.0:
        day += HOURS / 24.0
        _, abv = _between(table, share)
        hunger = max(0.0, takes - share) / (max(0.0, takes - share) + 0.10)
        bears = max(0.0, 1.0 - (abv / gives_up) ** 2.5)
        if sticks and stuck_day is None and share > stops_at * min(takes, 0.9):
            stuck_day = day
        if day > lag and stuck_day is None:
            speed = pace * (1.0 + warmth * chance.uniform(-1.0, 1.0)) * HOURS / 24.0
            yeast += speed * 1.2 * yeast * (1.0 - yeast) * hunger
            share = min(takes, share + speed * 0.16 * yeast * hunger * bears)
        track.append((day, _between(table, share)[0]))
    end = track[-1][1]
    end_day = next(at for at, sg in track if sg <= end + ENDED)
    took, at = [], 0.0
    while at <= days:
        true = track[round(24.0 * at / HOURS)][1]
        took.append(Took(at, round(true + chance.gauss(0.0, 0.0007), 4)))
        at += every * chance.uniform(0.7, 1.3)
    return Simulated(original, sold, took, end, end_day, stuck_day)


def _between(table: list[tuple[float, float]], share: float) -> tuple[float, float]:
    low = min(STEPS - 1, int(share * STEPS))
    part = share * STEPS - low
    (sg, abv), (sg2, abv2) = table[low], table[low + 1]
    return sg + part * (sg2 - sg), abv + part * (abv2 - abv)
