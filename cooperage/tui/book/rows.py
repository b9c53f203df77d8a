"""The rows of the book's list: a visit in one row, or unfolded into a row for each of its entries below it."""

from collections.abc import Sequence
from dataclasses import dataclass

from cooperage.book.log import Entry
from cooperage.programme.visits import Visit, visits


@dataclass(frozen=True, slots=True)
class BookRow:
    """One row: a visit, or one entry of a visit that is unfolded (`is_part`)."""

    visit: Visit
    entry: Entry | None
    is_part: bool = False
    is_unfolded: bool = False

    @property
    def can_unfold(self) -> bool:
        """True if this row stands for more than one entry."""
        return self.entry is None and not self.is_unfolded


class BookRows:
    """The visits that were read, newest first, and which of them are unfolded."""

    def __init__(self) -> None:
        self._visits: list[Visit] = []
        self._unfolded: set[str] = set()
        self.rows: list[BookRow] = []

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, index: int) -> BookRow:
        return self.rows[index]

    def take(self, entries: Sequence[Entry]) -> None:
        """Take entries, newest first; visits that were unfolded stay so."""
        self._visits = visits(entries)
        self._lay_out()

    def unfold(self, index: int) -> bool:
        """Show each entry of the visit in a row; False where there is no more to show."""
        if not self.rows or not self.rows[index].can_unfold:
            return False
        self._unfolded.add(_mark(self.rows[index].visit))
        self._lay_out()
        return True

    def fold(self, index: int) -> int | None:
        """Fold the visit of a row into one row and return where that is; None where it is folded already."""
        if not self.rows or not (self.rows[index].is_part or self.rows[index].is_unfolded):
            return None
        while self.rows[index].is_part:
            index -= 1
        self._unfolded.discard(_mark(self.rows[index].visit))
        self._lay_out()
        return index

    def _lay_out(self) -> None:
        self.rows = [row for visit in self._visits for row in self._rows_of(visit)]

    def _rows_of(self, visit: Visit) -> list[BookRow]:
        if len(visit.entries) == 1:
            return [BookRow(visit, visit.entries[0])]
        if _mark(visit) not in self._unfolded:
            return [BookRow(visit, None)]
        return [
            BookRow(visit, None, is_unfolded=True),
            *(BookRow(visit, entry, is_part=True) for entry in visit.as_done),
        ]


def _mark(visit: Visit) -> str:
    """Return what marks a visit: its newest entry, for older ones that are read later may still join it."""
    return visit.entries[0].id
