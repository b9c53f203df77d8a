"""What is really in a vessel, as nobody in the cellar can see it: a simple model of its own.

It shares nothing with the code it is used to show. Figures are ordinary for a cool cellar (common practice, no source).
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime
from random import Random

from making.cast import Barrel, Room

DAY = 86_400.0
INSTRUMENTS = {  # standard deviation of a reading, and the digits it is written with
    "abv": (0.08, 1),
    "sg": (0.0005, 3),
    "ph": (0.02, 2),
    "ta_g_l": (0.08, 1),
    "va_g_l": (0.02, 2),
    "free_so2_mg_l": (1.4, 0),
    "total_so2_mg_l": (4.0, 0),
}


@dataclass
class Mead:
    """The true figures of a mead; the names are those of the readings."""

    abv: float
    sg: float
    ph: float
    ta_g_l: float
    va_g_l: float = 0.28
    free_so2_mg_l: float = 31.0
    total_so2_mg_l: float = 78.0

    def joined(self, ml: float, other: "Mead", other_ml: float) -> "Mead":
        """Return this mead with some of another in it."""
        share = other_ml / (ml + other_ml)
        mixed = {name: (1 - share) * getattr(self, name) + share * getattr(other, name) for name in INSTRUMENTS}
        return Mead(**mixed | {"ph": self.ph})

    def read(self, name: str, rng: Random) -> str:
        """Return what an instrument shows."""
        deviation, digits = INSTRUMENTS[name]
        value = max(rng.gauss(getattr(self, name), deviation), 0.0)
        return f"{value:.{digits}f}"

    @property
    def molecular_so2(self) -> float:
        """Molecular SO2 [mg/L] after the first dissociation, pK 1.81."""
        return self.free_so2_mg_l / (1 + 10 ** (self.ph - 1.81))


@dataclass
class Cask:
    """A barrel with mead in it: what the book must say (`book_ml`) and what is so (`ml`, `mead`)."""

    barrel: Barrel
    book_ml: int = 0
    ml: float = 0.0
    mead: Mead | None = None
    filled_at: datetime | None = None
    seen_at: datetime | None = None
    fills: int = 0
    family: str = ""
    leaks_ml_a_day: float = 0.0
    sours_a_day: float = 0.0
    carried_to: Room | None = None

    @property
    def room(self) -> Room:
        """The room it lies in."""
        return self.carried_to or self.barrel.room

    @property
    def tag(self) -> str:
        """The barrel's tag."""
        return self.barrel.tag

    def fill(self, mead: Mead, at: datetime, family: str) -> None:
        """Fill it to the bung."""
        self.mead, self.family, self.fills = replace(mead), family, self.fills + 1
        self.book_ml, self.ml = self.barrel.capacity_ml, float(self.barrel.capacity_ml)
        self.filled_at = self.seen_at = at

    def age_to(self, at: datetime) -> None:
        """Let the angels, the wood and the air have their share up to `at`."""
        if self.mead is None or self.filled_at is None or self.seen_at is None:
            return
        days = (at - self.seen_at).total_seconds() / DAY
        if days <= 0:
            return
        began, ended = ((moment - self.filled_at).total_seconds() / DAY for moment in (self.seen_at, at))
        lost = self._evaporated(days, at) + self.leaks_ml_a_day * days + self._soaked(began, ended)
        concentrates = self._evaporated(days, at) / self.ml
        self.ml -= lost
        spirit = self._given(self.barrel.past.spirit if self.fills == 1 else 0.0, 40.0, began, ended)
        self.mead.abv += spirit + self.room.strength_drift * days / 365
        self.mead.sg += concentrates * (self.mead.sg - 0.985)
        self.mead.va_g_l += (0.00016 + self.sours_a_day) * days
        self.mead.free_so2_mg_l = 3 + (self.mead.free_so2_mg_l - 3) * math.exp(-days / 260)
        self.seen_at = at

    def _evaporated(self, days: float, at: datetime) -> float:
        room, small = self.room, (225_000 / self.barrel.capacity_ml) ** (1 / 3)
        season = 1 + room.summer * math.cos(2 * math.pi * (at.timetuple().tm_yday - 205) / 365)
        return self.barrel.capacity_ml * room.yearly_loss * small * self.barrel.tightness * season * days / 365

    def _soaked(self, began: float, ended: float) -> float:
        is_new = self.barrel.fills_before == 0 and self.fills == 1
        return self._given(0.019 * self.barrel.capacity_ml if is_new else 0.0, 8.0, began, ended)

    @staticmethod
    def _given(in_all: float, time_constant: float, began: float, ended: float) -> float:
        """What comes between two days since filling, of a sum that comes ever slower."""
        return in_all * (math.exp(-began / time_constant) - math.exp(-ended / time_constant))

    def is_topped(self, ml: int, mead: Mead) -> None:
        """Top it to the bung."""
        assert self.mead is not None
        self.mead = self.mead.joined(self.ml, mead, ml)
        self.ml, self.book_ml = float(self.barrel.capacity_ml), self.barrel.capacity_ml

    def is_drawn(self, ml: int) -> None:
        """Take some out."""
        self.ml -= ml
        self.book_ml -= ml

    def is_dosed(self, grams: float) -> None:
        """Add metabisulphite; four tenths of it bind."""
        assert self.mead is not None
        mg_l = 576_000 * grams / self.ml
        self.mead.total_so2_mg_l += mg_l
        self.mead.free_so2_mg_l += 0.6 * mg_l

    def is_emptied(self) -> None:
        """Leave nothing in it."""
        self.mead, self.ml, self.book_ml = None, 0.0, 0
