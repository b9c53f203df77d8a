"""An open run in one line: bottles, rejects, samples, fill checks, closures, losses and stops, each written at once."""

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal

from cooperage.errors import CooperageError
from cooperage.programme.bottling.run import BottlingRun
from cooperage.programme.bottling.shown import run_shown, title_words
from cooperage.programme.bottling.typed_line import HINT, HOW, announced, parse_run_line, write_typed
from cooperage.tui.bottling.close_form import CloseForm
from cooperage.tui.bottling.words import run_texts
from cooperage.tui.keys import bound, pressed
from cooperage.tui.shared.bars import KeyBar, StatusLine
from cooperage.tui.shared.ink import DONE, ink
from cooperage.tui.shared.steady import Steady
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.tui.sheets.line_sheet import LineSheet, SheetInput
from cooperage.units import show_clock


class CountLine(SheetInput):
    """The line in which a run is counted; the arrows scroll what was counted."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "screen.scroll_run(-1)", "scroll up"),
        bound("down", "screen.scroll_run(1)", "scroll down"),
    ]


class RunSheet(LineSheet[BottlingRun | None]):
    """What a run has come to, and the line that adds to it; what Enter would write stands above the line.

    Closes with the run where it was closed, with None where it stays open.
    """

    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("write", "close_run", "close the run"),
        bound("back", "clear_or_leave", "leave it open"),
    ]

    def __init__(self, run: BottlingRun) -> None:
        super().__init__()
        self._run = run

    def compose(self) -> ComposeResult:
        """The run, what Enter would write, the line, the keys."""
        yield Steady("", id="sheet-title", markup=False)
        yield Wrapped(id="counted")
        yield StatusLine()
        yield Steady(HINT, id="hint", markup=False)
        with Horizontal(id="line-bar"):
            yield Steady(f"{self._run.code} › ", id="prompt", markup=False)
            yield CountLine()
        yield KeyBar()

    def on_mount(self) -> None:
        """Take up what was half typed today."""
        self._drafts.take_up(*self._kept_as)
        draft = self._drafts.of(self._draft_name)
        self._line.put(draft.text, draft.cursor)
        self.set_focus(self._line)
        self.call_after_refresh(self._show_run)

    @property
    def _subject(self) -> str:
        return f"run {self._run.code}"

    @property
    def _draft_name(self) -> str:
        return self._run.code

    def _show_run(self) -> None:
        shown = run_shown(self.desk.book, self._run.code, self.desk.units)
        self._run = shown.run
        self.query_one("#sheet-title", Steady).update(title_words(shown.run, self.desk.units))
        self.query_one(Wrapped).show_text(*run_texts(shown, self.desk.units, partial(ink, self.app)))
        self._understand()

    def on_resize(self) -> None:
        """Wrap to the room there is."""
        self.query_one(Wrapped).lines_changed()

    def action_scroll_run(self, lines: int) -> None:
        """Show what does not fit."""
        self.query_one(Wrapped).scroll_relative(y=lines, animate=False)

    # --- the line ---------------------------------------------------------------------------------------------------

    @on(SheetInput.Changed)
    def _typed(self, event: SheetInput.Changed) -> None:
        event.stop()
        self._keep_draft()
        self._understand()

    def _understand(self) -> None:
        """Show what Enter would write, or why it would write nothing."""
        text = self._line.value
        if not text.strip():
            return
        try:
            words = announced(parse_run_line(text, self._run, self.desk.units), self._run, self.desk.units)
        except CooperageError as error:
            self._refused(error)
        else:
            self._show(f"{pressed('enter')} writes  {words}")

    def action_take_line(self) -> None:
        """Write what the line announces; what is refused stays in it."""
        if not self._line.value.strip():
            self._show(f"Type {HOW}. {pressed('write')} closes the run.")
            return
        book, run, hand = self.desk.book, self._run, self.desk.hand
        try:
            parts = parse_run_line(self._line.value, run, self.desk.units)
        except CooperageError as error:
            self._refused(error)
            return
        words = announced(parts, run, self.desk.units)
        self.desk.attempt(
            lambda sure: write_typed(book, run, parts, hand=hand, sure=sure),
            lambda _done: self._written(words),
            self._refused,
            rereads=False,
        )

    def _written(self, words: str) -> None:
        self._line.put("")
        self._drafts.written(self._draft_name)
        self._save()
        self._show_run()
        self._show(f"Written {show_clock(self.desk.book.now())}  {words}  {DONE}")

    def action_clear_or_leave(self) -> None:
        """Clear what is half typed, which Right brings back; else leave the run open, to go on later."""
        line = self._line
        if not line.value.strip():
            self.dismiss(None)
            return
        cleared = line.value
        line.put("")
        line.cleared = cleared
        self._keep_draft()
        self._show(f"Cleared: {cleared.strip()}. Right brings it back, {pressed('back')} leaves the run open.")

    # --- closing ----------------------------------------------------------------------------------------------------

    def action_close_run(self) -> None:
        """Ask what is left to know, and close the run; what is half typed is written or cleared first."""
        if self._line.value.strip():
            self._show(f"{pressed('enter')} writes what is typed, {pressed('back')} clears it; then close the run.")
            return

        def closed(run: BottlingRun | None) -> None:
            if run is not None:
                self.dismiss(run)

        self.app.push_screen(CloseForm(self._run), closed)
