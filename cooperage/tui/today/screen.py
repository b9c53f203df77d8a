"""Today: the first look at the cellar; what is wrong stands first, the worst before the rest."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from cooperage.book import KINDS, Cellar, Written
from cooperage.programme.signs.sign import Sign
from cooperage.programme.today.glance import Today, today_of
from cooperage.tui.keys import bound
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.gauges import cautions_shown
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.steady import Steady
from cooperage.tui.today.words import head_line, last_line, sign_line, walk_lines


class TodayScreen(CellarScreen):
    """What is wrong, worst first, each with its reason and how sure it is; the day's walk by room; the last entry.

    Enter opens the vessel.
    """

    NAME = "today"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [bound("look", "look")]

    def __init__(self) -> None:
        super().__init__()
        self._today: Today | None = None  # until it is calculated

    def compose_body(self) -> ComposeResult:
        """The cellar in one line, trouble, why, the walk, the last entry."""
        yield Steady("Look first: calculating", id="today-head", markup=False)
        yield LineList(id="trouble")
        yield Steady("", id="trouble-why", markup=False)
        yield Steady("", id="walk-ahead", markup=False)
        yield Steady("", id="last-entry", markup=False)

    def on_mount(self) -> None:
        """Begin on the list."""
        self.set_focus(self._list)

    @property
    def _list(self) -> LineList:
        return self.query_one("#trouble", LineList)

    def show_cellar(self, cellar: Cellar) -> None:
        """Look the cellar over in the background; nothing is judged before that is done."""
        self.run_slow_work("today", lambda: today_of(self.desk.book, cellar, self.units), self._take)

    def _take(self, today: Today) -> None:
        self._today, self.desk.rates = today, today.rates
        found = today.trouble
        self._list.set_lines(len(found), lambda index, width: sign_line(found[index], width))
        nothing = "" if found else f"   {missing(self.desk.cellar) or 'Nothing is wrong.'}"
        self.query_one("#today-head", Static).update(head_line(today) + nothing)
        self.query_one("#walk-ahead", Static).update("\n".join(walk_lines(today, self.units)))
        self.query_one("#last-entry", Static).update(last_line(today, self.units), layout=False)
        self._show_why()
        self.refresh_bindings()

    @property
    def current(self) -> Sign | None:
        """The trouble under the cursor."""
        found = () if self._today is None else self._today.trouble
        return found[self._list.cursor] if self._list.cursor < len(found) else None

    def _show_why(self) -> None:
        sign = self.current
        lines = [] if sign is None else [Content(sign.why), *([cautions_shown(sign.cautions)] if sign.cautions else [])]
        self.query_one("#trouble-why", Static).update(Content("\n").join(lines), layout=False)

    def on_line_list_moved(self) -> None:
        """Show why in full."""
        self._show_why()

    def on_line_list_taken(self) -> None:
        """Open the vessel that is in trouble."""
        if self.current is not None:
            self.open_page(self.current.vessel)

    def action_look(self) -> None:
        """Write down what is seen at the vessel under the cursor."""
        if self.current is not None:
            self.open_form(KINDS["look"], {"vessel": self.current.vessel}, self._looked)

    def _looked(self, _written: Written) -> None:
        self.set_focus(self._list)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """A look is written at a vessel."""
        return self.current is not None if action == "look" and self.is_mounted else True
