"""Bottling runs: the open one to be counted, those that were closed with what they came to, and a new one."""

import json
from collections.abc import Mapping
from functools import partial
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.book.declared import acts
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling.shown import RunShown, runs_shown, title_words
from cooperage.programme.bottling.words import yield_words
from cooperage.programme.several.written import strike_together
from cooperage.tui.bottling.close_form import CloseForm
from cooperage.tui.bottling.open_form import OpenForm, RunWanted
from cooperage.tui.bottling.risks_sheet import RisksSheet
from cooperage.tui.bottling.run_sheet import RunSheet
from cooperage.tui.bottling.words import NONE_YET, RUNS, run_cells, run_ink, run_texts
from cooperage.tui.drafts import Drafts, HalfTyped
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.desk import HOW_STRIKING_WORKS
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import ColumnList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.units import counted, local_day

_ASKED = "asked"


class BottlingScreen(CellarScreen):
    """Runs, the open ones first; below, what was counted into the one under the cursor, and what it came to.

    Enter goes on counting an open run. What is typed for a new one is kept for the day until it is open.
    """

    NAME = "bottling"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("new", "new_run", "new run"),
        bound("write", "close_run", "close the run"),
        bound("strike", "open_again", "open it again"),
        bound("print", "app.ask('report')", "report"),
        bound("view", "app.switch_mode('bottles')", "bottles"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._runs: list[RunShown] = []
        self._are_read = False
        self._drafts = Drafts()

    def compose_body(self) -> ComposeResult:
        """The runs, and the one under the cursor."""
        yield Static("", id="runs-head", markup=False)
        yield ColumnList("#runs-head", id="runs")
        yield Wrapped(id="run")

    def on_mount(self) -> None:
        """Begin on the runs, with what was typed for a new one earlier today."""
        self._drafts.take_up(*self._kept_as)
        self.set_focus(self._list)

    @property
    def _kept_as(self) -> tuple[str, str]:
        return f"{self.desk.book.name}\nrun asked", str(local_day(self.desk.book.now()))

    @property
    def _list(self) -> ColumnList:
        return self.query_one("#runs", ColumnList)

    @property
    def current(self) -> RunShown | None:
        """The run under the cursor."""
        at = self._list.cursor
        return self._runs[at] if at < len(self._runs) else None

    @property
    def pointed(self) -> str:
        """The first vessel of the run under the cursor."""
        return "" if self.current is None else self.current.run.vessels[0]

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Read the runs again."""
        self._read()

    def _read(self) -> None:
        self.run_slow_work("runs", lambda: runs_shown(self.desk.book, self.units), self._take)

    def _take(self, found: list[RunShown]) -> None:
        self._runs, self._are_read = found, True
        now, inks = self.desk.book.now(), partial(ink, self.app)
        rows = (run_cells(each, now) for each in found)
        self._list.set_rows(RUNS, rows, lambda at, text: run_ink(found[at], text, inks))
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show the run that the cursor is on."""
        self._show_current()

    def _show_current(self) -> None:
        self.refresh_bindings()
        shown = self.current
        if shown is None:
            none = (NONE_YET, f"{pressed('new')} asks for a new run.") if self._are_read else ("Reading the runs …",)
            self.query_one(Wrapped).show_text(*none)
        else:
            about = run_texts(shown, self.units, partial(ink, self.app))
            self.query_one(Wrapped).show_text(title_words(shown.run, self.units), *about)

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Close an open run; open one again that is closed."""
        if action not in ("close_run", "open_again"):
            return True
        shown = self.current if self.is_mounted else None
        return shown is not None and shown.run.is_open is (action == "close_run")

    def on_line_list_taken(self) -> None:
        """Go on counting an open run; read one that is closed."""
        shown = self.current
        if shown is not None and shown.run.is_open:
            self._count(shown.run)
        else:
            self.set_focus(self.query_one(Wrapped))

    def _count(self, run: BottlingRun) -> None:
        self.app.push_screen(RunSheet(run), self._counted)

    def _counted(self, closed: BottlingRun | None) -> None:
        if closed is not None:
            self._show_closed(closed)
        self._read()

    def action_close_run(self) -> None:
        """Ask what is left to know, and close the run under the cursor."""
        shown = self.current
        if shown is not None:
            self.app.push_screen(CloseForm(shown.run), self._counted)

    def action_open_again(self) -> None:
        """Strike all that closed the run under the cursor, after a question: it is open again, with its lines."""
        run = None if self.current is None else self.current.run
        if run is None or run.closed is None or not run.closed.entries:
            return
        act = acts.Strike(entry=run.closed.entries[0], hand=self.desk.hand, sure=True)
        what = counted(len(run.closed.entries), "entry", "entries")
        asked = f"Open {run.code} again? This strikes the {what} that closed it; its lines stay."
        question = f"{asked}\n\n{HOW_STRIKING_WORKS}"

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(
                    lambda _sure: strike_together(self.desk.book, act),
                    lambda _done: self.show_message(f"{run.code} is open again."),
                    self.refuse,
                )

        self.app.push_screen(Confirm(question, yes="open it again"), answered)

    def _show_closed(self, run: BottlingRun) -> None:
        entries = [] if run.closed is None else run.closed.entries
        self.show_done(f"Closed {run.code}: {'; '.join(yield_words(run, self.units))}.", entries)

    def action_new_run(self) -> None:
        """Ask for a run; its risks come first, and once it is open it is counted."""
        self.app.push_screen(OpenForm(self._proposed), self._wanted)

    @property
    def _proposed(self) -> Mapping[str, str]:
        """What was typed for a run that is not open yet; else the tank in hand, if it holds mead."""
        kept = self._drafts.of(_ASKED).text
        if kept:
            return {str(name): str(text) for name, text in json.loads(kept).items()}
        tag, cellar = self.desk.tag, self.desk.cellar
        is_tank = tag in cellar and cellar[tag].ml > 0 and cellar[tag].vessel.kind == "tank"
        return {"vessels": tag} if is_tank else {}

    def _wanted(self, wanted: RunWanted | None) -> None:
        if wanted is None:
            return
        self._keep(json.dumps(wanted.texts))
        self.app.push_screen(RisksSheet(wanted.asked, wanted.found), self._opened)

    def _keep(self, text: str) -> None:
        self._drafts.keep(_ASKED, HalfTyped(text))
        self._drafts.save(*self._kept_as)

    def _opened(self, run: BottlingRun | None) -> None:
        if run is not None:
            self._keep("")
            self._read()
            self._count(run)
