"""The list of stocks: those drawn first, each draw as a bar; a key to force and a key to forbid one."""

from collections.abc import Sequence
from datetime import datetime
from functools import cache, partial
from typing import ClassVar

from textual.binding import BindingType
from textual.geometry import Region
from textual.message import Message

from cooperage.tui.blend.words import StockRow, stock_line, stock_words
from cooperage.tui.keys import bound
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.units import Units


class StockList(LineList):
    """The stocks, those drawn first; a key to force and a key to forbid the stock under the cursor."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("yes", "rule('must')", "must draw", show=False),
        bound("no", "rule('never')", "never draw", show=False),
    ]

    class Ruled(Message):
        """A stock is to be forced or forbidden, or no longer."""

        def __init__(self, tag: str, rule: str) -> None:
            super().__init__()
            self.tag, self.rule = tag, rule

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.rows: Sequence[StockRow] = ()
        self._was_led = False
        self._said: dict[tuple[int, int], str] = {}

    def show_rows(self, rows: Sequence[StockRow], units: Units) -> None:
        """List these stocks; the cursor stays on a stock that the hand went to, else goes to the first draw."""
        stood_on = self.current.tag if self.current and self.has_focus and self._was_led else ""
        self.rows = rows
        self._said.clear()
        self.cursor = 0
        inks = partial(ink, self.app)
        self.set_lines(len(rows), cache(lambda index, width: stock_line(rows[index], units, width, inks)))
        self.go_to(stood_on)

    def show_line(self, y: int) -> None:
        """Scroll to a line, no farther than must be: the list is short, and a scroll draws all of it."""
        self.scroll_to_region(Region(0, y, 1, 1), animate=False, force=True)

    def words(self, units: Units, now: datetime) -> str:
        """Return the words on the stock under the cursor; they are kept once they were made."""
        key = (self.cursor, self.size.width)
        if key not in self._said:
            self._said[key] = stock_words(self.rows[self.cursor], units, self.size.width, now)
        return self._said[key]

    def go_to(self, tag: str) -> bool:
        """Put the cursor on a stock; return True if it is listed."""
        at = next((index for index, row in enumerate(self.rows) if row.tag == tag), None)
        if at is not None:
            self.cursor, self._was_led = at, True
        return at is not None

    @property
    def current(self) -> StockRow | None:
        """The stock under the cursor."""
        return self.rows[self.cursor] if self.cursor < len(self.rows) else None

    def action_move(self, lines: int) -> None:
        """Move the cursor; from now on it stays with the stock it is on."""
        self._was_led = True
        super().action_move(lines)

    def action_rule(self, rule: str) -> None:
        """Force or forbid the stock under the cursor, or stop doing so."""
        if self.current is not None:
            self._was_led = True
            self.post_message(self.Ruled(self.current.tag, rule))
