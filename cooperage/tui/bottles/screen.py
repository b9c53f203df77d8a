"""The stock of bottles: by bottling, place and holder; stowed, removed, taken back, counted, poured back."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.book import KINDS, Cellar
from cooperage.book.bottles import BottleHolding, bottle_holdings, bottle_moves
from cooperage.tui.bottles.words import NONE_YET, STOCK, move_lines, stock_cells, stock_sum
from cooperage.tui.keys import bound
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.line_list import ColumnList
from cooperage.tui.shared.wrapped import Wrapped


class BottlesScreen(CellarScreen):
    """Every bottling's bottles by place, and of those that left who has them; below, how those of one got there."""

    NAME = "bottles"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("move", "bottles('stow')", "stow"),
        bound("retire", "bottles('remove')", "take out of stock"),
        bound("receive", "bottles('takeback')", "take back"),
        bound("check", "bottles('stocktake')", "count bottles"),
        bound("pour", "bottles('pourback')", "pour back"),
        bound("view", "app.switch_mode('bottling')", "bottling runs"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._held: list[BottleHolding] = []
        self._is_read = False
        self._moves: dict[str, list[str]] = {}

    def compose_body(self) -> ComposeResult:
        """The stock with its sum, and how the bottles under the cursor got there."""
        yield Static("", id="stock-head", markup=False)
        yield ColumnList("#stock-head", id="stock")
        yield Static("", id="stock-sum", markup=False)
        yield Wrapped(id="moves")

    def on_mount(self) -> None:
        """Begin on the stock."""
        self.set_focus(self._list)

    @property
    def _list(self) -> ColumnList:
        return self.query_one("#stock", ColumnList)

    @property
    def current(self) -> BottleHolding | None:
        """The bottles under the cursor."""
        at = self._list.cursor
        return self._held[at] if at < len(self._held) else None

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Read the stock again."""
        self.run_slow_work("bottles", self._read, self._take)

    def _read(self) -> tuple[list[BottleHolding], dict[str, list[str]]]:
        with self.desk.book.reading() as connection:
            return bottle_holdings(connection), move_lines(bottle_moves(connection))

    def _take(self, found: tuple[list[BottleHolding], dict[str, list[str]]]) -> None:
        self._held, self._moves = found
        self._is_read = True
        held, units = self._held, self.units
        self._list.set_rows(STOCK, (stock_cells(each, units) for each in held))
        self.query_one("#stock-sum", Static).update(stock_sum(held, units))
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show how the bottles got where they are."""
        self._show_current()

    def on_line_list_taken(self) -> None:
        """Read it."""
        self.set_focus(self.query_one("#moves"))

    def _show_current(self) -> None:
        self.refresh_bindings()
        held = self.current
        nothing = [NONE_YET if self._is_read else "Reading the bottles …"]
        self.query_one(Wrapped).show_text(*(nothing if held is None else self._moves[held.code]))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is in a store is stowed, removed, counted and poured back; what left is taken back."""
        if action != "bottles":
            return True
        held = self.current if self.is_mounted else None
        return held is not None and held.is_in_store is not (parameters[0] == "takeback")

    def action_bottles(self, kind: str) -> None:
        """Ask for an act on the bottles under the cursor, and show what was written."""
        held = self.current
        if held is not None:
            texts = {"code": held.code} | _known(kind, held)
            self.open_form(KINDS[kind], texts, lambda _written: None)


def _known(kind: str, held: BottleHolding) -> dict[str, str]:
    """Return what is known of an act beside the bottling: where the bottles are, or what became of them."""
    match kind:
        case "takeback":
            return {"were": held.place, "whose": held.holder}
        case "stocktake":
            return {"in": held.place}
        case _:
            return {"out-of": held.place}
