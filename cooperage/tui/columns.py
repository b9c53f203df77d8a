"""Columns of a list under their titles: as wide as what stands in them, and what gives way where there is no room."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

_GAP = "  "
_CUT = "…"

Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class ListedColumns:
    """Titles of columns; `figures` are those whose cells stand on the right.

    `yields` lists what gives way where there is too little room, in this order: a column (by its place) is cut, with a
    mark, to no fewer than so many cells; one with 0 is left out.
    """

    titles: tuple[str, ...]
    yields: tuple[tuple[int, int], ...] = ()
    figures: frozenset[int] = frozenset()

    def fitted(self, rows: Sequence[Row], width: int) -> "FittedColumns":
        """Return the columns as they stand in a width [cells] with these rows."""
        widths = [max(map(cell_len, (title, *(row[at] for row in rows)))) for at, title in enumerate(self.titles)]
        shown = list(range(len(self.titles)))
        for at, least in self.yields:
            too_wide = sum(widths[each] for each in shown) + len(_GAP) * (len(shown) - 1) - width
            if too_wide <= 0:
                break
            if least:
                widths[at] = min(widths[at], max(least, widths[at] - too_wide))
            else:
                shown.remove(at)
        return FittedColumns(self, tuple(shown), tuple(widths), width)


@dataclass(frozen=True, slots=True)
class FittedColumns:
    """Columns in a width: which, and how wide each is."""

    columns: ListedColumns
    shown: tuple[int, ...]
    widths: tuple[int, ...]
    width: int

    def head(self) -> str:
        """Return the titles."""
        return self.line(self.columns.titles)

    def line(self, cells: Row) -> str:
        """Return a row; what finds no room in it ends with a mark."""
        return within(_GAP.join(self._cell(cells[at], at) for at in self.shown).rstrip(), self.width)

    def _cell(self, text: str, at: int) -> str:
        width = self.widths[at]
        shown = within(text, width)
        return (
            f"{' ' * (width - cell_len(shown))}{shown}" if at in self.columns.figures else set_cell_size(shown, width)
        )


def within(text: str, width: int) -> str:
    """Return a text as it is, or as much of it as has room, with a mark where it is cut."""
    return text if cell_len(text) <= width else f"{set_cell_size(text, max(0, width - 1)).rstrip()}{_CUT}"
