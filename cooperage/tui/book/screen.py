"""The book: every entry, newest first; an entry in full; striking an entry; the check of the book."""

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widgets import Input, Label, Static

from cooperage.book import Cellar
from cooperage.book.laws import Finding
from cooperage.book.log import Entry
from cooperage.book.words import entry_in_full
from cooperage.errors import CooperageError
from cooperage.tui.book.filter import EntryFilter, newest, wanted_by
from cooperage.tui.book.words import BOOK_HEAD, book_line, law_lines
from cooperage.tui.forms.lab_slip import SlipDialog
from cooperage.tui.keys import bound
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.units import counted

PAGE = 200
"""How many entries are read at a time; the end of the list reads as many more."""


class BookScreen(CellarScreen):
    """Entries newest first: filter by a kind, a vessel or the last day to look at; strike an entry that is wrong."""

    NAME = "book"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("rows", "filter", "filter"),
        bound("strike", "strike", "strike entry"),
        bound("read", "lab", "lab results"),
        bound("check", "check", "check the book"),
        bound("print", "app.ask('report')", "report"),
        bound("view", "app.switch_mode('losses')", "losses"),
        bound("back", "all", "show all"),
        bound("back", "back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._entries: list[Entry] = []
        self._is_read = False
        self._count = PAGE
        self._wanted = EntryFilter()

    def compose_body(self) -> ComposeResult:
        """The filter, the entries, and the entry under the cursor in full."""
        with Horizontal(id="filter-row"):
            yield Label("Filter ")
            yield Input(id="book-filter", compact=True, placeholder="kind, vessel, day: rack B-001 2026-09-30")
            yield Label("", id="counted", markup=False)
        yield Static(BOOK_HEAD, classes="head", markup=False)
        yield LineList(id="entries")
        yield Wrapped(id="entry")

    def on_mount(self) -> None:
        """Begin on the entries."""
        self.set_focus(self._list)

    @property
    def _list(self) -> LineList:
        return self.query_one("#entries", LineList)

    @property
    def current(self) -> Entry | None:
        """The entry under the cursor."""
        return self._entries[self._list.cursor] if self._entries else None

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - entries are read beside it
        """Read the entries again."""
        self._read()

    def _read(self) -> None:
        book, wanted, count = self.desk.book, self._wanted, self._count
        self.run_slow_work("entries", lambda: newest(book, wanted, count), self._take)

    def _take(self, found: list[Entry]) -> None:
        self._entries, self._is_read = found, True
        self._list.set_lines(len(found), lambda index, _width: Text(book_line(found[index], self.units), no_wrap=True))
        more = "the newest " if len(found) == self._count else ""
        self.query_one("#counted", Label).update(f"{more}{counted(len(found), 'entry', 'entries')}")
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show the entry in full, and read more at the end of the list."""
        self._show_current()
        if self._list.cursor == self._count - 1:
            self._count += PAGE
            self._read()

    def on_line_list_taken(self) -> None:
        """Read the entry in full."""
        self.set_focus(self.query_one("#entry"))

    def _show_current(self) -> None:
        entry = self.current
        none = [self._none_words()] if self._is_read else []
        self._show_text(none if entry is None else entry_in_full(entry, self.units))
        self.refresh_bindings()

    def _none_words(self) -> str:
        is_filtered = bool(self.query_one("#book-filter", Input).value.strip())
        return "No entry matches." if is_filtered else missing(self.desk.cellar) or "Nothing is written yet."

    def _show_text(self, lines: list[str]) -> None:
        self.query_one(Wrapped).show_text(*lines)

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """What is struck, or is itself a strike, cannot be struck; all is shown again only where it is not."""
        if action == "all":
            return not self.is_mounted or self.focused is not self._list or self._wanted != EntryFilter()
        if action == "strike":
            return self.current is not None and not self.current.struck_by and not self.current.strikes
        return True

    def action_filter(self) -> None:
        """Type what to look for."""
        self.set_focus(self.query_one("#book-filter"))

    def action_all(self) -> None:
        """Show every entry again."""
        self.leave_find()
        self.workers.cancel_node(self)
        self.set_focus(self._list)
        self.query_one("#book-filter", Input).value = ""
        self._look_for(EntryFilter())
        self._show_current()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Look for what was typed."""
        if event.input.id != "book-filter":
            return
        try:
            wanted = wanted_by(event.value, self.desk.cellar, self.desk.book.now())
        except CooperageError as error:
            self.refuse(error)
            return
        self.show_message("")
        self.set_focus(self._list)
        self._look_for(wanted)

    def _look_for(self, wanted: EntryFilter) -> None:
        if wanted != self._wanted:
            self._wanted, self._count = wanted, PAGE
            self._list.cursor = 0
            self._read()

    def action_strike(self) -> None:
        """Strike the entry under the cursor, after showing it."""
        if self.current is not None:
            self.desk.strike(self.current, self.struck, self.refuse)

    def action_lab(self) -> None:
        """Paste lab results and write them together."""

        def closed(words: str | None) -> None:
            if words is not None:
                self.show_message(words)

        self.app.push_screen(SlipDialog(), closed)

    def action_check(self) -> None:
        """Check the book: volumes balance, no vessel below zero or above capacity."""
        self._show_text(["Checking the whole book … (Esc to cancel)"])
        self.run_slow_work("check", self.desk.book.check, self._show_laws)

    def _show_laws(self, findings: list[Finding]) -> None:
        lines = law_lines(findings)
        self.show_message(lines[0])
        self._show_text(lines)
        self.set_focus(self.query_one("#entry"))
