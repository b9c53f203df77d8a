"""A flight as it is read from the book: its glasses, what is scored, in whose order, and what was given."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from cooperage.book.declared.spelling import folded
from cooperage.book.declared.verdicts import Judgement
from cooperage.tasting.flights.errors import NoSuchGlass, NotAllIn, NotAmongTheTasters, NotInThisFlight
from cooperage.tasting.flights.scales import OVERALL

REFERENCE, CONTROL = "reference", "control"
"""What a control is: a reference that all know to be one, or a glass that is hidden among the others."""


@dataclass(frozen=True, slots=True)
class Glass:
    """One glass: its blind code, its place in the pour, and what is in it (shown only when revealed).

    `role` is empty, or what kind of control it is.
    """

    id: str
    code: str
    position: int
    vessel: str | None
    what: str = ""
    role: str = ""

    @property
    def called(self) -> str:
        """Its vessel; or what a glass from the bench is called, without millilitres (see `blending.pour.glass`)."""
        return self.vessel or self.what.partition(": ")[0]

    @property
    def holds(self) -> str:
        """What is in it, for the person who pours: its vessel, or what it is mixed of, in mL however it was written."""
        return self.vessel or self.what.replace(" ml ", " mL ")

    @property
    def is_reference(self) -> bool:
        """Return True if the tasters know it to be the control; that may be shown while the flight is blind."""
        return self.role == REFERENCE


@dataclass(frozen=True, slots=True)
class Score:
    """What one taster gave one glass; no value means words only. `marks` are by the name of the attribute."""

    value: float | None
    words: str = ""
    marks: Mapping[str, float] = field(default_factory=dict)
    verdict: Judgement | None = None

    def figure(self, name: str) -> float | None:
        """Return what was given for an attribute, or overall; None where nothing was."""
        return self.value if name == OVERALL else self.marks.get(name)


@dataclass(frozen=True, slots=True)
class Attribute:
    """What is scored in a flight beside the overall score, and on which scale."""

    id: str
    name: str
    scale: str
    family: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True)
class Peek:
    """A look at the codes before the flight was revealed: whose, and when."""

    hand: str
    at: datetime


@dataclass(slots=True)
class Flight:
    """Samples tasted together; `scores` by (glass code, taster), `orders` the glass codes as each taster meets them.

    `named` are the tasters who were named when it was poured, `departed` those who left before the end, and when.
    """

    id: str
    code: str
    name: str
    scale: str
    poured_at: datetime
    revealed_at: datetime | None
    glasses: list[Glass] = field(default_factory=list)
    scores: dict[tuple[str, str], Score] = field(default_factory=dict)
    attributes: list[Attribute] = field(default_factory=list)
    orders: dict[str, list[str]] = field(default_factory=dict)
    peeks: list[Peek] = field(default_factory=list)
    revealed_by: str = ""
    named: list[str] = field(default_factory=list)
    departed: dict[str, datetime] = field(default_factory=dict)

    @property
    def is_blind(self) -> bool:
        """Return True if the codes have not been lifted yet."""
        return self.revealed_at is None

    @property
    def tasters(self) -> list[str]:
        """Everyone who has scored a glass, by name."""
        return sorted({taster for _, taster in self.scores})

    @property
    def absent(self) -> list[str]:
        """Everyone who was named or drew an order and scored nothing, in that order."""
        scored = set(self.tasters)
        return [taster for taster in self.orders if taster not in scored]

    @property
    def panel(self) -> list[str]:
        """Everyone who tastes: who was named or drew an order, in that order, then who scored without one."""
        return list(dict.fromkeys((*self.orders, *self.tasters)))

    def left_to_give(self) -> list[tuple[str, int]]:
        """Return who has glasses left, with how many: of those named as it was poured and those who began to score.

        A taster who left is waited for no more.
        """
        there = [taster for taster in self.panel if taster not in self.departed]
        awaited = (taster for taster in there if taster in self.named or taster in self.tasters)
        return [(taster, count) for taster in awaited if (count := self.glasses_left(taster))]

    @property
    def takes_verdicts(self) -> bool:
        """Return True if a verdict leads somewhere: some glass is of a vessel, which can be judged by it."""
        return any(glass.vessel is not None for glass in self.glasses)

    def check_all_in(self) -> None:
        """Ask back whether to close a flight with glasses left to score, or that has no score; raises NotAllIn."""
        left = self.left_to_give()
        if left or not self.scores:
            raise NotAllIn(self.code, left, len(self.glasses))

    def glasses_left(self, taster: str) -> int:
        """Return how many glasses a taster, named as the flight has it, has not scored."""
        return sum((glass.code, taster) not in self.scores for glass in self.glasses)

    def glass(self, code: str) -> Glass:
        """Find a glass by its blind code; raises NoSuchGlass."""
        for glass in self.glasses:
            if glass.code == code.strip():
                return glass
        raise NoSuchGlass(code, (glass.code for glass in self.glasses))

    def attribute(self, name: str) -> Attribute:
        """Find an attribute that is scored in this flight; raises NotInThisFlight."""
        for attribute in self.attributes:
            if folded(attribute.name) == folded(name):
                return attribute
        raise NotInThisFlight("attribute", name, [attribute.name for attribute in self.attributes])

    def taster_named(self, name: str) -> str:
        """Return a taster's name as the flight has it, whatever its capitals; a new one as it is."""
        wanted = folded(name)
        return next((taster for taster in self.panel if folded(taster) == wanted), name.strip())

    def check_tasters(self, names: Iterable[str], *, sure: bool = False) -> None:
        """Ask back names new to a blind flight whose tasters were named, unless `sure`; raises NotAmongTheTasters."""
        panel = self.panel
        strangers = dict.fromkeys(name for each in names if (name := self.taster_named(each)) not in panel)
        if strangers and self.named and self.is_blind and not sure:
            raise NotAmongTheTasters(self.code, tuple(strangers), panel)
