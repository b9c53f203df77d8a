"""Columns side by side, the chosen column moved with the arrows: plans to compare, glasses to pipette."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual.binding import BindingType
from textual.message import Message
from textual.reactive import reactive

from cooperage.tui.keys import bound, rebind
from cooperage.tui.shared.ink import pointed
from cooperage.tui.shared.line_list import Lines

_LABEL = 16
_WIDEST = 14


@dataclass(frozen=True, slots=True)
class CompareRow:
    """A label and a cell for each column; a row without cells is a heading."""

    label: str
    cells: tuple[str, ...] = ()


class SideBySide(Lines):
    """Rows under a head that stays; the chosen column is marked in the head and stands out from the others."""

    DEFAULT_CSS = "SideBySide { height: 1fr; min-height: 4; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("left", "step(-1)", "previous column"),
        bound("right", "step(1)", "next column", show=True),
        bound("enter", "take", "choose"),
    ]
    chosen = reactive(0)

    class Stepped(Message):
        """Another column was chosen."""

    class Taken(Message):
        """Enter was pressed on the chosen column."""

    def __init__(self, *, id: str, takes: str = "choose") -> None:
        super().__init__(id=id)
        self._heads: Sequence[str] = ()
        self._rows: Sequence[CompareRow] = ()
        self._takes = takes
        rebind(self, bound("enter", "take", takes))

    def show_columns(self, heads: Sequence[str], rows: Sequence[CompareRow], chosen: int) -> None:
        """Show these rows, each with a cell under each head."""
        self._heads, self._rows = heads, rows
        self.chosen = chosen
        self.lines_changed()

    @property
    def line_count(self) -> int:
        """The head, and the rows."""
        return len(self._rows)

    def line(self, y: int, width: int) -> Text:
        """Draw one row."""
        row = self._rows[y]
        if not row.cells:
            return Text(row.label, style="bold", no_wrap=True)
        return self._drawn(row.label, row.cells, width, lambda at: pointed(self.app) if at == self.chosen else "")

    def head(self) -> Text:
        """Draw the head; the chosen column is marked."""
        heads = [f"▸{head}" if at == self.chosen else head for at, head in enumerate(self._heads)]
        return self._drawn("", heads, self.scrollable_content_region.width, lambda _at: "bold")

    def _drawn(self, label: str, cells: Sequence[str], width: int, style: Callable[[int], str | Style]) -> Text:
        wide = min(_WIDEST, max(4, (width - _LABEL) // max(1, len(self._heads))))
        text = Text(f"{label[: _LABEL - 1]:<{_LABEL}}", no_wrap=True)
        for at, cell in enumerate(cells):
            text.append(f"{cell[: wide - 1]:>{wide - 1}} ", style(at))
        return text

    def validate_chosen(self, chosen: int) -> int:
        """Keep to the columns there are."""
        return max(0, min(chosen, len(self._heads) - 1))

    def watch_chosen(self) -> None:
        """Post `Stepped`."""
        self.refresh()
        self.post_message(self.Stepped())

    def on_resize(self) -> None:
        """Draw the head to the new width, too."""
        super().on_resize()
        self.post_message(self.Stepped())

    def action_step(self, columns: int) -> None:
        """Choose the column beside."""
        self.chosen += columns

    def action_take(self) -> None:
        """Take the chosen column."""
        if self._heads:
            self.post_message(self.Taken())
