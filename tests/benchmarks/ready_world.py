"""Cellars of our own invention whose ripening is known, for `bench_ready.py`; not drawn from what the program expects.

Oak comes out of the wood towards a ceiling that falls with fills, honey fades, and what tasters make of the whole rises
with time, is spoilt by too much oak, and differs by lot and barrel. Common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from cooperage.programme.ready.forecasting import WantedWindow
from cooperage.programme.ready.limits import parse_limits
from cooperage.programme.ready.looks import Cask, PanelLook

WEEK = timedelta(days=7)
BEGAN = datetime(2022, 1, 3, 8, tzinfo=UTC)
SCALES = {"overall": "0-20", "oak": "0-10", "honey": "0-10"}
WANTED = WantedWindow(parse_limits("overall at least 14; oak at most 6; honey at least 4"))


@dataclass(frozen=True)
class Kind:
    """What a world is like: how widely tasters err and barrels differ, how fast wood gives and honey fades, the limits.

    `noise` is how many times as wide as usual, `barrels` and `own` one standard deviation between barrels (logarithm of
    what oak gives; points overall), `pace` days, `fades` of a year.
    """

    noise: float = 1.0
    tasters: int = 4
    barrels: float = 0.27
    own: float = 0.7
    pace: float = 110.0
    fades: float = 0.45
    wanted: WantedWindow = WANTED


KINDS = {
    "usual": Kind(),
    "few rough tasters, unlike barrels": Kind(noise=1.3, tasters=2, barrels=0.45, own=1.2),
    "sharp panel, slow wood": Kind(noise=0.6, tasters=6, pace=220.0, fades=0.3),
    "a short window of oak": Kind(wanted=WantedWindow(parse_limits("oak at least 2.5; oak at most 4.5"))),
}
"""Worlds of which nothing in the program was chosen by, but for the first."""
_NOISE = {"overall": 1.7, "oak": 1.1, "honey": 1.2}
"""One standard deviation of one taster, in points."""
_GIVES = (6.5, 4.0, 2.2, 1.2, 0.6)
"""What oak gives in the long run at fill 1, 2, ..., in points of ten."""
Course = Callable[[float], float]


@dataclass
class Ripening:
    """One fill of one barrel: when it began (week), and each attribute in truth after so many weeks in it."""

    cask: Cask
    began: int
    courses: dict[str, Course]
    wanted: WantedWindow = WANTED

    def truth(self, week: int) -> dict[str, float]:
        """Return every attribute in truth at a week of the world."""
        since = (week - self.began) * 7.0
        return {name: course(since) for name, course in self.courses.items()}

    def is_ready(self, week: int) -> bool:
        """Return whether it meets the definition in truth."""
        truth = self.truth(week)
        return all(limit.holds(truth[limit.name]) for limit in self.wanted.limits)


def at(week: float) -> datetime:
    """Return the moment of a week of the world."""
    return BEGAN + week * WEEK


class RipeningWorld:
    """A cellar of barrels that were filled again and again; the same seed gives the same truth and the same panels."""

    def __init__(self, seed: int, barrels: int = 24, weeks: int = 208, kind: Kind = KINDS["usual"]) -> None:
        self.kind = kind
        self.rng = np.random.default_rng(seed)
        self.lots = 0
        self.fills: list[Ripening] = []
        self._lots: dict[str, tuple[float, float, float]] = {}
        for number in range(barrels):
            self._barrel(f"B-{number + 1:02d}", weeks)

    def _barrel(self, tag: str, weeks: int) -> None:
        rng = self.rng
        size = float(rng.choice([50, 110, 225, 225, 225, 500]))
        wood = str(rng.choice(["oak, Quercus petraea", "oak, Quercus alba"]))
        of_barrel, fill = float(np.exp(rng.normal(0, self.kind.barrels))), int(rng.integers(1, 5))
        week = int(rng.integers(0, 30))
        while week < weeks - 60:
            lot = f"L{week // 26}"
            self.fills.append(self._fill(tag, wood, size, fill, lot, week, of_barrel))
            week += int(rng.integers(60, 100))
            fill += 1

    def _fill(self, tag: str, wood: str, size: float, fill: int, lot: str, week: int, of_barrel: float) -> Ripening:
        rng = self.rng
        if lot not in self._lots:
            self._lots[lot] = (rng.normal(10.5, 0.8), rng.normal(7.5, 0.6), rng.normal(6.5, 1.0))
        base, honey, gains = (float(each) for each in self._lots[lot])
        gives = _GIVES[min(fill, len(_GIVES)) - 1] * (225 / size) ** (1 / 3) * of_barrel
        gives *= 1.15 if "alba" in wood else 1.0
        pace = self.kind.pace * float(np.exp(rng.normal(0, 0.3)))
        own, fades, ripens = (
            rng.normal(0, self.kind.own),
            self.kind.fades * float(np.exp(rng.normal(0, 0.3))),
            rng.uniform(150, 320),
        )

        def oak(days: float) -> float:
            return float(1.0 + gives * (1 - np.exp(-days / pace)))

        def overall(days: float) -> float:
            too_much = max(0.0, oak(days) - 5.5)
            return float(base + own + gains * (1 - np.exp(-days / ripens)) - 0.35 * too_much**1.5)

        courses: dict[str, Course] = {
            "overall": overall,
            "oak": oak,
            "honey": lambda days: honey * float(np.exp(-fades * days / 365)),
        }
        cask = Cask(tag, at(week).timestamp(), lot, wood, "medium", int(size * 1000), fill)
        return Ripening(cask, week, courses, self.kind.wanted)

    def standing(self, week: int) -> list[Ripening]:
        """Return the fills that there are at a week, one a barrel."""
        found = {each.cask.tag: each for each in self.fills if each.began <= week}
        return list(found.values())

    def taste(self, chosen: list[Ripening], week: int, rng: np.random.Generator) -> list[PanelLook]:
        """Let a panel score some barrels; its errors are those of its tasters, and of the day."""
        found, tasters = [], self.kind.tasters
        noise = {name: usual * self.kind.noise for name, usual in _NOISE.items()}
        day = {name: rng.normal(0, 0.15 * wide) for name, wide in noise.items()}
        for each in chosen:
            for name, value in each.truth(week).items():
                low, high = (float(end) for end in SCALES[name].split("-"))
                given = value + day[name] + rng.normal(0, noise[name] / tasters**0.5)
                score = float(min(max(given, low), high))
                found.append(PanelLook(each.cask, name, SCALES[name], f"F-{week}", at(week), score, tasters))
        return found

    def history(self, until: int, rng: np.random.Generator, every: int = 10) -> list[PanelLook]:
        """Return the looks of panels that tasted half of the cellar at a time."""
        found: list[PanelLook] = []
        for turn, week in enumerate(range(every, until, every)):
            there = self.standing(week)
            found += self.taste(there[turn % 2 :: 2], week, rng)
        return found


def weeks_ready(fill: Ripening, since: int, weeks: int) -> NDArray[np.bool_]:
    """Return for each week from one on whether a fill is ready in truth."""
    return np.array([fill.is_ready(since + week) for week in range(weeks)])
