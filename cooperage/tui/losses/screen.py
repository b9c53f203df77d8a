"""Losses: where the volume went, month by month against the usual, worst barrels first, and warnings."""

from collections.abc import Mapping
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.geometry import Size
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.programme.ahead.lost import OF_LOSSES, Basis, LossesSeen, losses_seen
from cooperage.programme.losses.ledger import GROUPINGS, PERIODS, period_began
from cooperage.programme.signs.all_signs import Sign, signs
from cooperage.programme.signs.waiting import worst_first
from cooperage.tui.forms.count import CountDialog
from cooperage.tui.keys import bound, pressed
from cooperage.tui.losses.months import month_texts
from cooperage.tui.losses.words import (
    causes_words,
    head_words,
    loss_text,
    sign_text,
    strip_texts,
)
from cooperage.tui.shared.bars import FindBox
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.units import Quantity, show

_SHORTER = f"Press {pressed('rows')} for 12 months or less, to compare."
_CALCULATING = "Losses: calculating"
_ROOMY, _TALL = 22, 34
_MONTH_ROWS = ((_TALL, 9), (_ROOMY, 4), (0, 2))
"""Rows of a terminal, and of the months in it: as the style sheet has them, less the row of their names."""
_NOTHING = "Nothing was lost in this time."


class LossList(LineList):
    """Rows of losses; Enter opens a barrel where the rows are barrels."""

    opens = False

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Enter is offered only where it opens something."""
        return self.opens if action == "take" else True


class LossesScreen(CellarScreen):
    """Volume lost by cause, barrel, room, lot, wood or month, and warnings; Enter opens the barrel.

    Barrel loss is what evaporated, leaked or was missing at a dip; usual is what the barrels lose in such a time.
    """

    NAME = "losses"
    CSS_PATH = "screen.tcss"
    VERTICAL_BREAKPOINTS = [(0, "-short"), (_ROOMY, "-middling"), (_TALL, "-tall")]  # noqa: RUF012 - typed by Textual
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("rows", "choose_rows", "by what, since when"),
        bound("check", "count", "count"),
        bound("view", "app.switch_mode('figures')", "worth reading"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._by, self._period = "barrel", "12 months"
        self._seen: LossesSeen | None = None  # until they are summed
        self._basis: Basis | None = None
        self._signs: list[Sign] = []
        self._why: Mapping[str, str] = {}
        self._laid_for = Size(0, 0)
        self._described = ""

    def compose_body(self) -> ComposeResult:
        """Causes, months and rows of losses; warnings; more about what is under the cursor."""
        with Vertical(id="lost"):
            yield Static(_CALCULATING, id="losses-title", classes="title", markup=False)
            yield Static("", id="causes-strip")
            yield Static("", id="months")
            yield Static("", id="losses-head", markup=False)
            yield LossList(id="losses")
        with Vertical(id="trouble"):
            yield Static("Warnings: calculating", id="signs-title", classes="title", markup=False)
            yield LineList(id="signs")
        yield Steady("", id="why", markup=False)

    def on_mount(self) -> None:
        """Begin on the losses."""
        self._loss_list.opens = True
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
        self.run_slow_work(
            "losses", lambda: losses_seen(book, cellar, by, began, units, basis, _SHORTER), self._take_losses
        )

    def _take_losses(self, seen: LossesSeen) -> None:
        self._seen, self._basis = seen, seen.basis
        lost = show(Quantity.VOLUME, seen.total_ml, self.units)
        self.query_one("#losses-title", Static).update(f"Lost by {seen.by}, {self._period}: {lost}", layout=False)
        self._loss_list.set_lines(len(seen.rows), self._draw_loss)
        self._show_pictures()
        self._describe()

    def _show_pictures(self) -> None:
        """Draw causes and months in the room there is."""
        if self._seen is None:
            return
        self._laid_for = self.size
        months = self.query_one("#months", Static)
        width, height = self.size.width - 2, self.size.height
        rows = next(rows for least, rows in _MONTH_ROWS if height >= least)
        strip, words = strip_texts(self._seen.causes, self.app, width, self.units)
        pictured = [words] if height < _ROOMY else [strip, words]
        self.query_one("#causes-strip", Static).update(Text("\n").join(pictured), layout=False)
        head = head_words(self._seen.by, width) if self._seen.rows else ""
        self.query_one("#losses-head", Static).update(head, layout=False)
        drawn = month_texts(self._seen.months, self.app, width, rows, self.units)
        months.update(Text("\n").join(drawn), layout=False)

    def on_resize(self) -> None:
        """Draw again in the room there is now."""
        self.call_after_refresh(self._fill)

    def _fill(self) -> None:
        if self._laid_for != self.size and not self.has_class("-warnings"):
            self._show_pictures()

    def _draw_loss(self, index: int, width: int) -> Text:
        seen = self._seen
        if seen is None or index >= len(seen.rows):
            return Text("")
        row = seen.rows[index]
        return loss_text(row, seen, self._why.get(row.what, ""), self.app, width, self.units)

    def _take_signs(self, found: list[Sign]) -> None:
        self._signs = worst_first(found)
        self._why = {sign.vessel: sign.word for sign in reversed(self._signs) if sign.kind in OF_LOSSES}
        now = self.desk.cellar.at
        self._sign_list.set_lines(len(found), lambda index, width: sign_text(self._signs[index], now, self.app, width))
        first = ", worst first" if len(found) > 1 else ""
        self.query_one("#signs-title", Static).update(f"Warnings: {len(found) or 'none'}{first}", layout=False)
        self._loss_list.lines_changed()
        self._give_room()
        self._describe()

    def _describe(self) -> None:
        """Show more about what is under the cursor of the list in hand."""
        if self.focused is self._sign_list:
            self._show_sign()
        else:
            self._describe_loss()

    def _describe_loss(self) -> None:
        words = "" if self._seen is None else self._loss_words(self._seen)
        if words != self._described:
            self._described = words
            self.query_one("#why", Static).update(words, layout=False)

    def _loss_words(self, seen: LossesSeen) -> str:
        """Return the causes of the row under the cursor, and what is allowed of all of them.

        Of a barrel its page has the causes; its line here has what matters.
        """
        allowed = f"All losses: {seen.allowance}"
        if not seen.rows:
            return f"{_NOTHING} {allowed}"
        row = seen.rows[min(self._loss_list.cursor, len(seen.rows) - 1)]
        return allowed if seen.by in ("cause", "barrel") else f"{causes_words(row, self.units)}\n{allowed}"

    def _show_sign(self) -> None:
        at = self._sign_list.cursor
        text = Content("")
        if at < len(self._signs):
            sign = self._signs[at]
            why = Content(f"{sign.vessel}, {sign.word}: {sign.why}")
            text = Content("\n").join([why, *([cautions_shown(sign.cautions)] if sign.cautions else [])])
        self._described = ""
        self.query_one("#why", Static).update(text, layout=False)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Describe what is under the cursor of the list that has the keys now, in the room it takes."""
        if not isinstance(event.widget, FindBox):
            self._give_room()
            self._describe()

    def _give_room(self) -> None:
        """Give the warnings the room of the pictures while they have the keys, if one has a caution to show in full."""
        takes = self.focused is self._sign_list and any(sign.cautions for sign in self._signs)
        if takes != self.has_class("-warnings"):
            self.set_class(takes, "-warnings")
            self.call_after_refresh(self._fill)

    def on_line_list_moved(self, event: LineList.Moved) -> None:
        """Describe what is under the cursor that moved."""
        if event.lines is self._sign_list:
            self._show_sign()
        else:
            self._describe_loss()

    @property
    def pointed(self) -> str:
        """The barrel of the warning under the cursor, or of the row that is a barrel."""
        if self.focused is self._sign_list:
            return self._signs[self._sign_list.cursor].vessel if self._signs else ""
        rows = self._seen.rows if self._loss_list.opens and self._seen is not None else ()
        return rows[self._loss_list.cursor].what if self._loss_list.cursor < len(rows) else ""

    def on_line_list_taken(self) -> None:
        """Open the barrel under the cursor."""
        if self.pointed:
            self.open_page(self.pointed)

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
