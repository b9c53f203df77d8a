"""What the panel found beside how it liked a glass: honey, fruit, oak and acidity from 0 to 10, and a verdict.

It draws on chance of its own. Oak comes fast at first and ever slower, less with each fill a barrel has had; honey
fades a little with the age of the mead (common practice, no source).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

from making.cast import HANDS
from making.truth import Cask, Mead

ATTRIBUTES = ("honey", "fruit", "oak", "acidity")
SCALE = "0-10"
HONEY = {"HE": 6.8, "LB": 6.2, "BW": 7.4}
FRUITS = ("SC", "BC", "QU")


@dataclass(frozen=True)
class Truth:
    """What is so of a barrel when its glass is poured: days in this wood, which fill it is, its figures, its family."""

    days: float
    fill: int
    va_g_l: float
    ta_g_l: float
    family: str

    def attributes(self) -> dict[str, float]:
        """Return what a sure palate would find."""
        oak = 8.6 * (1 - math.exp(-self.days / 240)) * 0.68 ** (self.fill - 1) + 0.6
        honey = HONEY.get(self.family, 5.2) - 1.3 * (1 - math.exp(-self.days / 420)) - 0.12 * oak
        fruit = 5.6 - 0.8 * (1 - math.exp(-self.days / 500)) if self.family in FRUITS else 2.6
        acidity = 4.4 + 0.9 * (self.ta_g_l - 5.4) + 3.5 * max(0.0, self.va_g_l - 0.45)
        return dict(zip(ATTRIBUTES, (honey, fruit, oak, acidity), strict=True))


def truth_of(cask: Cask, days: float) -> Truth:
    """Return what is so of a barrel that was filled so many days ago; of fills before it came, three is a guess."""
    mead, before = cask.mead, cask.barrel.fills_before
    assert isinstance(mead, Mead)
    fill = (3 if before is None else before) + cask.fills
    return Truth(days, fill, mead.va_g_l, mead.ta_g_l, cask.family[:2].upper())


class Palates:
    """How each taster finds what is there: everybody leans a way of their own."""

    def __init__(self, seed: int) -> None:
        self.rng = Random(seed)
        self._leaning = {(taster, name): self.rng.gauss(0, 0.5) for taster in HANDS for name in ATTRIBUTES}

    def cells(self, taster: str, truth: Truth, value: float) -> dict[str, str]:
        """Return the cells of scores.csv for one glass of one taster, in whole points, and the verdict."""
        found = truth.attributes()
        marks = [
            f"{name}={round(min(10.0, max(0.0, found[name] + self._leaning[taster, name] + self.rng.gauss(0, 0.6))))}"
            for name in ATTRIBUTES
        ]
        return {"marks": "; ".join(marks)} | self._verdict(truth, value, found["oak"])

    def _verdict(self, truth: Truth, value: float, oak: float) -> dict[str, str]:
        if truth.va_g_l > 0.7 and value < 9:
            return {"verdict": "quarantine"}
        if oak > 6.2 and self.rng.random() < 0.6:
            return {"verdict": "move"}
        if value >= 14:
            return {"verdict": self.rng.choice(("ready", "ready", "blend"))}
        if value >= 11.5:
            return {"verdict": "keep"}
        return {"verdict": "look again", "weeks": self.rng.choice(("8", "8", "12"))}

    def orders(self, flight: str, glasses: Iterable[str], drawn: str) -> list[dict[str, str]]:
        """Return the rows of servings.csv of a flight: no two tasters begin with the same glass."""
        codes = list(glasses)
        self.rng.shuffle(codes)
        step = max(1, len(codes) // len(HANDS))
        return [
            {"flight": flight, "taster": taster, "place": str(place), "drawn": drawn}
            | {"glasses": " ".join(codes[place * step :] + codes[: place * step])}
            for place, taster in enumerate(HANDS)
        ]
