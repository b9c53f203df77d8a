"""The book: every visit, newest first; an entry in full; striking an entry; the check of the book."""

from functools import cache
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widgets import Input, Label, Static

from cooperage.book import Cellar
from cooperage.book.laws import Finding
from cooperage.book.log import Entry
from cooperage.errors import CooperageError
from cooperage.tui.book.filter import EntryFilter, newest, wanted_by
from cooperage.tui.book.rows import BookRow, BookRows
from cooperage.tui.book.words import BookLines, in_full, law_lines
from cooperage.tui.forms.lab_slip import SlipDialog
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.first_days import missing
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.units import counted

PAGE = 200
"""How many entries are read at a time; the end of the list reads as many more."""


class BookScreen(CellarScreen):
    """Visits newest first, each in a line: filter by a kind, a vessel or the last day; strike what is wrong."""

    NAME = "book"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("rows", "filter", "filter"),
        bound("strike", "strike", "strike entry"),
        bound("read", "lab", "lab results"),
        bound("check", "check", "check the book"),
        bound("print", "app.ask('report')", "report"),
        bound("view", "app.switch_mode('losses')", "losses"),
        bound("trace on", "trace"),
        bound("right", "unfold", "each entry", show=True),
        bound("left", "fold", "one line"),
        bound("back", "all", "show all"),
        bound("back", "back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._entries: list[Entry] = []
        self._rows = BookRows()
        self._offered: tuple[bool, ...] = ()
        self._is_read = False
        self._count = PAGE
        self._wanted = EntryFilter()

    def compose_body(self) -> ComposeResult:
        """The filter, the entries, and the entry under the cursor in full."""
        with Horizontal(id="filter-row"):
            yield Label("Filter ")
            yield Input(id="book-filter", compact=True, placeholder="kind, vessel, day: rack B-001 2026-09-30")
            yield Label("", id="counted", markup=False)
        yield Static("", classes="head", markup=False)
        yield LineList(id="entries")
        yield Wrapped(id="entry")

    def on_mount(self) -> None:
        """Begin on the entries."""
        self.set_focus(self._list)

    @property
    def _list(self) -> LineList:
        return self.query_one("#entries", LineList)

    @property
    def row(self) -> BookRow | None:
        """The row under the cursor."""
        return self._rows[self._list.cursor] if self._list.cursor < len(self._rows) else None

    @property
    def pointed(self) -> str:
        """The vessel of the entry under the cursor; of a visit, the first that has one."""
        found = () if self.row is None else [self.row.entry] if self.row.entry else self.row.visit.entries
        return next((entry.vessel for entry in found if entry.vessel and entry.vessel in self.desk.cellar), "")

    @property
    def current(self) -> Entry | None:
        """The entry under the cursor; of a visit of several, none."""
        return None if self.row is None else self.row.entry

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - entries are read beside it
        """Read the entries again."""
        self._read()

    def _read(self) -> None:
        book, wanted, count = self.desk.book, self._wanted, self._count
        self.run_slow_work("entries", lambda: newest(book, wanted, count), self._take)

    def _take(self, found: list[Entry]) -> None:
        self._entries, self._is_read = found, True
        self._rows.take(found)
        more = "the newest " if len(found) == self._count else ""
        self.query_one("#counted", Label).update(f"{more}{counted(len(found), 'entry', 'entries')}")
        self._show_rows()

    def _show_rows(self) -> None:
        rows = self._rows.rows
        lines, quiet = BookLines.wide_enough(self.units, self.desk.book.now(), rows), ink(self.app, "quiet")
        self.query_one(".head", Static).update(lines.head(), layout=False)
        self.query_one(Wrapped).forget_known()
        self._list.set_lines(len(rows), cache(lambda index, width: lines.line(rows[index], width, quiet)))
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show the entry in full, and read more at the end of the list."""
        self._show_current()
        if self._list.cursor == len(self._rows) - 1 and len(self._entries) == self._count:
            self._count += PAGE
            self._read()

    def on_line_list_taken(self) -> None:
        """Read the entry, or all that was done on a visit, in full."""
        self.set_focus(self.query_one("#entry"))

    def _show_current(self) -> None:
        row = self.row
        if row is None:
            self._show_text(self._none_words())
        else:
            self.query_one(Wrapped).show_of(
                self._list.cursor, lambda _width: in_full(row, self.units, self.desk.book.now())
            )
        offered = (self.check_action("strike", ()) is True, row is not None and row.entry is None)
        if offered != self._offered:
            self._offered = offered
            self.refresh_bindings()

    def _none_words(self) -> list[str]:
        if not self._is_read:
            return []
        is_filtered = bool(self.query_one("#book-filter", Input).value.strip())
        return ["No entry matches." if is_filtered else missing(self.desk.cellar) or "Nothing is written yet."]

    def _show_text(self, lines: list[str]) -> None:
        self.query_one(Wrapped).show_text(*lines)

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """What is struck, or is itself a strike, cannot be struck; all is shown again only where it is not."""
        if action == "all":
            return not self.is_mounted or self.focused is not self._list or self._wanted != EntryFilter()
        if action in ("strike", "trace"):
            return self.row is not None and (self.current is None or _stands(self.current))
        if action == "unfold":
            return self.row is not None and self.row.entry is None
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

    def action_unfold(self) -> None:
        """Show each entry of the visit under the cursor in a row of its own."""
        if self._rows.unfold(self._list.cursor):
            self._show_rows()

    def action_fold(self) -> None:
        """Fold the visit under the cursor into one row."""
        at = self._rows.fold(self._list.cursor)
        if at is not None:
            self._list.cursor = at
            self._show_rows()

    def action_strike(self) -> None:
        """Strike the entry under the cursor, after showing it; of a visit, let one entry be chosen."""
        if self.current is not None:
            self.desk.strike(self.current, self.struck, self.refuse)
        elif self.row is not None:
            self._choose_entry(f"{pressed('strike')} strikes")

    def _choose_entry(self, key_does: str) -> None:
        self.action_unfold()
        self._list.cursor += 1
        self.show_message(f"Which entry? {pressed('down')} and {pressed('up')} choose, {key_does}.")

    async def action_trace(self) -> None:
        """Trace on what the entry under the cursor moved or opened; of a visit, let one entry be chosen."""
        if self.current is not None:
            await self.app.run_action(f"trace({self.current.id!r})")
        elif self.row is not None:
            self._choose_entry(f"{pressed('trace on')} traces it")

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


def _stands(entry: Entry) -> bool:
    return not entry.struck_by and not entry.strikes
