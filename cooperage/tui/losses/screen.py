"""Losses: where the volume went, and warnings about barrels."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from cooperage.book import Book, Cellar
from cooperage.programme.ahead.usual import usual_by
from cooperage.programme.losses.allowance import allowance_over
from cooperage.programme.losses.ledger import GROUPINGS, PERIODS, LossRow, loss_rates, losses_by, period_began, total_ml
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.losses.stays import Stays, stays
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.keys import bound, pressed
from cooperage.tui.losses.words import LOSSES_HEAD, SIGNS_HEAD, WORDS_WIDTH, causes_words, loss_line, sign_line
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.units import Quantity, Span, Units, show

_SHORTER = f"Press {pressed('rows')} for 12 months or less, to compare."


@dataclass(frozen=True, slots=True)
class Usual:
    """The stays and loss rates that losses are grouped and compared by; the same for every grouping and period."""

    spent: Stays
    rates: Mapping[str, LossRate]


@dataclass(frozen=True, slots=True)
class Summed:
    """Losses summed by one grouping over one period, with what is usual and what is allowed."""

    rows: list[LossRow]
    usual: Mapping[str, int]
    allowance: str
    basis: Usual


def summed_up(book: Book, cellar: Cellar, by: str, began: datetime | None, units: Units, basis: Usual | None) -> Summed:
    """Sum losses up to now; `basis` is what was read before, if it was."""
    basis = basis or Usual(stays(book, cellar.at), loss_rates(book, cellar))
    rows = losses_by(book, by, since=began, spent=basis.spent)
    allowance = allowance_over(book, Span(began)).words(total_ml(rows), units, _SHORTER)
    usual = usual_by(cellar, basis.spent, basis.rates, by, began)
    return Summed(rows, usual, allowance, basis)


class LossList(LineList):
    """Rows of losses; Enter opens a barrel where the rows are barrels."""

    opens = False

    def is_current(self, y: int) -> bool:  # noqa: ARG002 - see below
        """No line is drawn in reverse as a whole: a bar must not change its colour."""
        return False

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Enter is offered only where it opens something."""
        return self.opens if action == "take" else True


class LossesScreen(CellarScreen):
    """Volume lost by cause, barrel, room, lot, wood or month, and warnings; Enter opens the barrel.

    Barrel loss is what evaporated, leaked or was missing at a dip; usual is what the barrels lose in such a time.
    """

    NAME = "losses"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("rows", "choose_rows", "by what, since when"),
        bound("check", "count", "count"),
        bound("view", "app.switch_mode('figures')", "worth reading"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._by, self._period = "cause", "12 months"
        self._rows: list[LossRow] | None = None  # until they are summed
        self._usual: Mapping[str, int] = {}
        self._basis: Usual | None = None
        self._signs: list[Sign] = []

    def compose_body(self) -> ComposeResult:
        """Losses, and warnings."""
        with Vertical(id="lost"):
            yield Static("", id="losses-title", classes="title", markup=False)
            yield Static(LOSSES_HEAD, id="losses-head", markup=False)
            yield LossList(id="losses")
            yield Steady("", id="allowance", markup=False)
            yield Steady("", id="causes", markup=False)
        with Vertical(id="trouble"):
            yield Static("Warnings", id="signs-title", classes="title", markup=False)
            yield Static(SIGNS_HEAD, id="signs-head", markup=False)
            yield LineList(id="signs")
            yield Steady("", id="why", markup=False)

    def on_mount(self) -> None:
        """Begin on the losses."""
        self.set_focus(self._loss_list)

    @property
    def _loss_list(self) -> LossList:
        return self.query_one("#losses", LossList)

    @property
    def _sign_list(self) -> LineList:
        return self.query_one("#signs", LineList)

    def show_cellar(self, cellar: Cellar) -> None:
        """Sum the losses, and look for warnings."""
        self._basis = None
        self._sum_up()
        self.run_slow_work("signs", lambda: signs(self.desk.book, cellar, units=self.units), self._take_signs)

    def _sum_up(self) -> None:
        book, cellar, by = self.desk.book, self.desk.cellar, self._by
        units, basis = self.units, self._basis
        began = period_began(self._period, cellar.at)
        self.run_slow_work("losses", lambda: summed_up(book, cellar, by, began, units, basis), self._take_losses)

    def _take_losses(self, summed: Summed) -> None:
        self._rows, self._usual, self._basis = summed.rows, summed.usual, summed.basis
        lost = total_ml(summed.rows)
        title = f"Lost by {self._by}, {self._period}: {show(Quantity.VOLUME, lost, self.units)}"
        self.query_one("#losses-title", Static).update(title)
        self.query_one("#allowance", Static).update(f"All losses: {summed.allowance}")
        self._loss_list.set_lines(len(summed.rows), lambda index, width: self._draw_loss(summed.rows, index, width))
        self._show_causes()

    def _draw_loss(self, rows: list[LossRow], index: int, width: int) -> Text:
        basis = Text(loss_line(rows[index], rows, self._usual, width, self.units), no_wrap=True)
        if index == self._loss_list.cursor:
            basis.stylize(self._loss_list.current_style, 0, WORDS_WIDTH)
        return basis

    def _show_causes(self) -> None:
        self.query_one("#causes", Static).update(self._causes_words())

    def _causes_words(self) -> str:
        """Return the causes of the row under the cursor; empty before the losses are summed."""
        if self._rows is None:
            return ""
        if not self._rows:
            return "Nothing was lost in this time."
        row = self._rows[min(self._loss_list.cursor, len(self._rows) - 1)]
        return causes_words(row, self.units) if self._by != "cause" else ""

    def _take_signs(self, found: list[Sign]) -> None:
        self._signs = found
        self._sign_list.set_lines(len(found), lambda index, _width: Text(sign_line(found[index]), no_wrap=True))
        self.query_one("#signs-title", Static).update(f"Warnings: {len(found) or 'none'}")
        self._show_sign()

    def _show_sign(self) -> None:
        at = self._sign_list.cursor
        text = Content("")
        if at < len(self._signs):
            sign = self._signs[at]
            text = Content("\n").join([Content(sign.why), *([cautions_shown(sign.cautions)] if sign.cautions else [])])
        self.query_one("#why", Static).update(text)

    def on_line_list_moved(self) -> None:
        """Describe what is under the cursors."""
        self._show_causes()
        self._show_sign()

    def on_line_list_taken(self, event: LineList.Taken) -> None:
        """Open the barrel of a warning, or of a row that is a barrel."""
        if event.lines is self._sign_list:
            self.open_page(self._signs[event.index].vessel)
        elif self._loss_list.opens and self._rows:
            self.open_page(self._rows[event.index].what)

    def action_choose_rows(self) -> None:
        """Choose what to group by, or how far to look back."""
        by = [(f"by {each}", f"by {each}") for each in GROUPINGS]
        over = [(f"over {each}", f"over {each}") for each in PERIODS]
        self.app.push_screen(Pick("Losses", [*by, *over], f"by {self._by}"), self._rows_chosen)

    def _rows_chosen(self, chosen: str | None) -> None:
        if chosen is None:
            return
        how, _, what = chosen.partition(" ")
        if how == "by":
            self._by = what
            self._loss_list.cursor = 0
            self._loss_list.opens = what == "barrel"
            self.refresh_bindings()
        else:
            self._period = what
        self._sum_up()

    def action_count(self) -> None:
        """Compare a physical count with the book, and write it."""

        def closed(words: str | None) -> None:
            if words is not None:
                self.show_message(words)

        self.app.push_screen(CountDialog(), closed)
