"""A vessel as typed words look at it: its lots, wood, past and place as text, each put together once."""

from collections.abc import Iterable
from functools import cached_property

from cooperage.book import Book, Cellar, Standing
from cooperage.programme.search.marks import Marks, marks_of
from cooperage.units import Units


class Described:
    """One vessel with its marks, and its texts in small letters."""

    def __init__(self, standing: Standing, marks: Marks, cellar: Cellar) -> None:
        self.standing, self.marks = standing, marks
        self._cellar = cellar

    @cached_property
    def lot(self) -> str:
        """Its lots by code, name and honey."""
        known = [(code, self._cellar.lots.get(code)) for code in self.standing.lots]
        return _text(part for code, lot in known for part in (code, *((lot.name, lot.honey) if lot else ())))

    @cached_property
    def wood(self) -> str:
        """Its wood and where that grew."""
        barrel = self.standing.vessel.barrel
        return _text((barrel.wood, barrel.forest)) if barrel else ""

    @cached_property
    def past(self) -> str:
        """What it held before it came; "new" when nothing."""
        barrel = self.standing.vessel.barrel
        if barrel is None:
            return ""
        return _text((barrel.past_life, "new" if barrel.past_kind == "none" else barrel.past_kind))

    @cached_property
    def room(self) -> str:
        """The room it lies in."""
        return (self.standing.position[0] or "").casefold()

    @cached_property
    def row(self) -> str:
        """The row it lies in."""
        return (self.standing.position[1] or "").casefold()

    @cached_property
    def anything(self) -> str:
        """Everything that a word by itself may mean."""
        vessel = self.standing.vessel
        row = f"row {self.row}" if self.row else None
        cooper = vessel.barrel.cooper if vessel.barrel else None
        return _text((vessel.tag, vessel.kind, self.lot, self.wood, self.past, cooper, self.room, row, vessel.note))


def _text(parts: Iterable[str | None]) -> str:
    return " · ".join(part for part in parts if part).casefold()


def describe(cellar: Cellar, marks: Marks) -> list[Described]:
    """Describe every vessel in walking order, retired ones too."""
    return [Described(standing, marks, cellar) for standing in cellar.in_walking_order()]


def describe_ahead(book: Book, cellar: Cellar, units: Units) -> tuple[Marks, list[Described]]:
    """Calculate the marks and put every text together before it is asked for; slow, so for a thread."""
    marks = marks_of(book, cellar, units)
    described = describe(cellar, marks)
    for each in described:
        _ = each.anything
    return marks, described
