"""Honey as it came in and the batch sheet of a lot, as plain values; what each field takes is declared beside it."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from cooperage.book.declared.allowed import (
    LONGEST_CODE,
    allowed,
    day,
    new_id,
    note,
    number_between,
    whole,
    words,
)
from cooperage.book.store.registry import MOST_ML, MOST_MONEY
from cooperage.errors import BadInput, Refused, did_you_mean

MOISTURES = (5.0, 40.0)
"""The water that honey can have at all [g per 100 g]; by the Codex most have at most 20 (Codex Stan 12-1981, 3.4)."""
KEEPS_AT = 20.0
"""Honey with more water than this [g per 100 g] is more than the Codex allows most honeys (Codex Stan 12-1981, 3.4)."""
_MOST_GRAMS = 10**10


class NoSuchHoney(BadInput):
    """A code that no honey of the book has."""

    def __init__(self, code: str, known: list[str]) -> None:
        super().__init__(f"there is no honey {code}{did_you_mean(code, known, '; `cooperage lot honeys` lists them')}")


class NotEnoughHoney(Refused):
    """More of a honey in the batches than came in."""

    def __init__(self, code: str, came: str, used: str) -> None:
        super().__init__(
            f"of honey {code} {came} came in, and the batches would have {used} of it; correct one of them "
            "with `cooperage lot honey` or `cooperage lot batch`"
        )


@dataclass(frozen=True, slots=True)
class Honey:
    """Honey as it came in: whose, of what, how much [g], its moisture [g per 100 g] and price; None is unknown.

    `method` is how the moisture was found. A honey is corrected by another of its code: the last written stands.
    """

    id: str = allowed(new_id())
    code: str = allowed(words("the code", LONGEST_CODE, needed=True))
    grams: int = allowed(whole("the honey", 1, _MOST_GRAMS, needed=True))
    producer: str | None = allowed(words("the producer"), default=None)
    floral: str | None = allowed(words("the flowers"), default=None)
    harvest: str | None = allowed(words("the harvest"), default=None)
    supplier_lot: str | None = allowed(words("the supplier's lot"), default=None)
    moisture: float | None = allowed(number_between("the moisture", *MOISTURES), default=None)
    method: str | None = allowed(words("how the moisture was found"), default=None)
    price_per_kg: float | None = allowed(number_between("the price", 0, MOST_MONEY), default=None)
    came_on: datetime | None = allowed(day("the day it came"), default=None)
    note: str = allowed(note(), default="")
    hand: str = ""
    written_at: datetime | None = None


class HoneyUsed(NamedTuple):
    """A honey in a batch, by its code, and how much of it [g]."""

    code: str
    grams: int


class Juice(NamedTuple):
    """Another fermentable in a batch: its name, how much [ml], its gravity [SG 20/20]."""

    name: str
    ml: int
    sg: float


@dataclass(frozen=True, slots=True)
class Batch:
    """The batch sheet of a lot: water [ml], honeys, juices, and the yeast with what it bears; None is unknown.

    `tolerance` is the strength at which the yeast gives up [% vol], `coolest` and `warmest` [°C] bound where it works,
    `nutrient_n` is what the yeast nutrient holds [mg of available nitrogen in a gram]. What was calculated when the
    sheet was written is `target_sg` and `target_l`, and `end_sg` with its deviation `end_sd` where it would end.
    """

    id: str = allowed(new_id())
    lot: str = allowed(words("the lot", LONGEST_CODE, needed=True))
    water_ml: int = allowed(whole("the water", 0, MOST_ML, needed=True))
    honeys: tuple[HoneyUsed, ...] = ()
    others: tuple[Juice, ...] = ()
    yeast: str | None = allowed(words("the yeast"), default=None)
    tolerance: float | None = allowed(number_between("the strength at which the yeast gives up", 1, 25), default=None)
    coolest: float | None = allowed(number_between("the coolest", -5, 60), default=None)
    warmest: float | None = allowed(number_between("the warmest", -5, 60), default=None)
    nutrient_n: float | None = allowed(number_between("the nitrogen of the nutrient", 0, 500), default=None)
    target_sg: float | None = allowed(number_between("the target gravity", 0.9, 1.6), default=None)
    target_l: float | None = allowed(number_between("the litres", 0, MOST_ML / 1000), default=None)
    end_sg: float | None = allowed(number_between("the last gravity", 0.9, 1.6), default=None)
    end_sd: float | None = allowed(number_between("its deviation", 0, 0.2), default=None)
    note: str = allowed(note(), default="")
    hand: str = ""
    written_at: datetime | None = None

    @property
    def honey_grams(self) -> int:
        """All honey in it [g]."""
        return sum(each.grams for each in self.honeys)
