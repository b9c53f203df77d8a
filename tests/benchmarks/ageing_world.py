"""Cellars of our own invention whose truth is known, for `bench_ageing.py`; drawn wider than the program expects.

Free SO2 falls first-order, as fast as lot, room, season, size, wood and barrel have it; every sixth cellar is three
times as fast or as slow as usual. Of doses a share binds, racking costs free SO2, some barrels turn sour, the rest
stands still or drifts; instruments err and, in every third cellar, are off for good. Common practice, no source.
"""

from dataclasses import dataclass, field
from math import cos, exp, log, pi

import numpy as np

from cooperage import liquid
from cooperage.book.declared.properties import PROPERTIES

FREE = "free_so2_mg_l"
WEEK, YEAR = 7, 365.25
SHOWN = {FREE: 1, "total_so2_mg_l": 1, "va_g_l": 0.01, "ta_g_l": 0.1, "ph": 0.01, "abv": 0.1, "sugar_g_l": 1}
"""What is read, and the steps in which it is shown."""
SIZES = (50, 110, 200, 225, 225, 225, 500)
_KINDS = (*["usual"] * 3, "fast", "usual", "few readings", *["usual"] * 3, "slow", "usual", "usual")
_TIMES = {"fast": 3.0, "slow": 1 / 3}


@dataclass
class Mead:
    """What is in one vessel in truth, how it goes on, and what its people know of it."""

    tag: str
    litres: float
    lot: int
    room: int
    pace: float
    is_barrel: bool = True
    is_new: bool = False
    fills_at: int = 0
    every: float = 90.0
    drifts: dict[str, float] = field(default_factory=dict)
    sours_at: int = 10_000
    truth: dict[str, float] = field(default_factory=dict)
    binding: float = 0.0
    known: dict[str, float] = field(default_factory=dict)
    read_next: float = 0.0
    times_read: int = 0
    after: str = ""
    """What was done last since it was read."""

    def ages(self, week: int, season: float) -> None:
        """Let a week pass."""
        left, settled = exp(-self.pace * season * WEEK), exp(-WEEK / 2)
        self.truth[FREE] = (self.truth[FREE] - self.binding) * left + self.binding * settled
        self.binding *= settled
        self.truth["total_so2_mg_l"] *= left**0.4
        for name, a_year in self.drifts.items():
            self.truth[name] = max(0.0, self.truth[name] + a_year * WEEK / YEAR)
        self.truth["va_g_l"] += 0.05 * WEEK * 12 / YEAR if week >= self.sours_at else 0.0

    def loses_so2(self, mg_l: float, after: str) -> None:
        """Let racking cost free SO2."""
        self.after = after
        lost = min(mg_l, 0.6 * self.truth[FREE])
        self.truth[FREE] -= lost
        self.truth["total_so2_mg_l"] -= lost

    @property
    def molecular(self) -> float:
        """Molecular SO2 in truth [mg/L]."""
        return self.truth[FREE] * share_of(self.truth["ph"], self.truth["abv"])


def share_of(ph: float, abv: float) -> float:
    """Return the molecular share of free SO2 in a cool cellar."""
    return float(liquid.molecular_so2(1.0, ph, abv, 15.0))


class World:
    """A cellar of our own invention; the same seed gives the same truth, whoever reads it when."""

    def __init__(self, seed: int, weeks: int = 0, barrels: int = 0) -> None:
        rng = self.rng = np.random.default_rng(seed)
        self.kind, self.is_biased = _KINDS[seed % len(_KINDS)], seed % 3 == 1
        self.weeks = weeks or int(rng.integers(104, 157))
        self.lots, self.rooms = int(rng.integers(2, 6)), int(rng.integers(1, 4))
        self.swing = rng.uniform(0.0, 0.5, self.rooms)
        self._of_lot, self._of_room = rng.normal(0, 0.3, self.lots), rng.normal(0, 0.25, self.rooms)
        self._usual = 0.006 * _TIMES.get(self.kind, exp(rng.normal(0, 0.4)))
        self._of_size = float(rng.uniform(0, 0.7))
        self.binds = rng.uniform(0.35, 0.75, self.lots)
        self._noise = float(rng.uniform(0.4, 1.3))
        self.bias = {name: float(rng.normal(0, 1)) if self.is_biased else 0.0 for name in SHOWN}
        self._of_lot_truth = [self._fresh() for _ in range(self.lots)]
        self._usual_every = float(rng.uniform(150, 250) if self.kind == "few readings" else rng.uniform(40, 130))
        self.tanks = [self._tank(lot) for lot in range(self.lots)]
        self.barrels = [self._barrel(number) for number in range(barrels or int(rng.integers(12, 31)))]
        self.reader = np.random.default_rng((seed, 1))

    def _fresh(self) -> dict[str, float]:
        rng = self.rng
        free = rng.uniform(25, 45)
        rest = {"va_g_l": rng.uniform(0.25, 0.5), "ta_g_l": rng.uniform(5, 7), "ph": rng.uniform(3.2, 3.6)}
        rest |= {"abv": rng.uniform(11, 15), "sugar_g_l": rng.uniform(10, 60)}
        return {FREE: free, "total_so2_mg_l": free + rng.uniform(40, 110), **rest}

    def _pace(self, lot: int, room: int, of_vessel: float) -> float:
        return float(self._usual * exp(self._of_lot[lot] + self._of_room[room] + of_vessel))

    def _drifts(self) -> dict[str, float]:
        rng, moves = self.rng, self.rng.random() < 0.5
        usual = {"va_g_l": rng.normal(0.06, 0.04), "ta_g_l": rng.normal(0, 0.1), "ph": rng.normal(0.01, 0.02)}
        usual |= {"abv": rng.normal(-0.05, 0.1), "sugar_g_l": rng.normal(0, 0.5)}
        return {name: float(a_year) if moves or name == "va_g_l" else 0.0 for name, a_year in usual.items()}

    def _tank(self, lot: int) -> Mead:
        pace = self._pace(lot, 0, log(0.4) + self.rng.normal(0, 0.3))
        return Mead(f"T-{lot}", 20_000.0, lot, 0, pace, False, every=90.0, drifts=self._drifts())

    def _barrel(self, number: int) -> Mead:
        rng = self.rng
        litres, lot, room = float(rng.choice(SIZES)), int(rng.integers(self.lots)), int(rng.integers(self.rooms))
        is_new = bool(rng.random() < 0.2)
        own = rng.normal(0, 0.4) + self._of_size * log(225 / litres) + is_new * rng.normal(log(1.5), 0.2)
        every = float(np.clip(rng.normal(self._usual_every, 25), 30, 300))
        mead = Mead(f"B-{number:02}", litres, lot, room, self._pace(lot, room, own), True, is_new, every=every)
        mead.fills_at, mead.drifts = int(rng.integers(1, 9)), self._drifts()
        mead.sours_at = int(rng.integers(30, self.weeks)) if rng.random() < 0.06 else 10_000
        return mead

    def fills(self, mead: Mead, lot: int) -> None:
        """Let a vessel take mead as the lot came, or as its tank has it now."""
        source = self.tanks[lot].truth if mead.is_barrel else self._of_lot_truth[lot]
        mead.pace *= exp(self._of_lot[lot] - self._of_lot[mead.lot])
        mead.truth, mead.lot, mead.binding, mead.known = dict(source), lot, 0.0, dict(self.tanks[lot].known)

    def season(self, room: int, week: int) -> float:
        """Return how much faster than the year's mean all goes in a week."""
        return float(1 + self.swing[room] * cos(2 * pi * (week * WEEK - 205) / YEAR))

    def reads(self, mead: Mead, name: str) -> float:
        """Read a property as the cellar's instrument shows it."""
        doubt = PROPERTIES[name].uncertainty
        shown = mead.truth[name] + doubt * (self.bias[name] + self._noise * self.reader.normal())
        mead.known[name] = round(max(0.0, round(shown / SHOWN[name]) * SHOWN[name]), 2)
        return mead.known[name]

    def tops(self, mead: Mead, lost: float) -> None:
        """Make good what went as vapour from the tank: acids and sulphite stay, strength goes along."""
        tank, whole = self.tanks[mead.lot].truth, mead.litres
        for name in mead.truth:
            if name != "ph":
                left = mead.truth[name] * (whole - lost if name == "abv" else whole)
                mead.truth[name] = (left + tank[name] * lost) / whole
