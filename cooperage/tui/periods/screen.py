"""Periods: the next to close and those that were filed, the figures by class of strength, and what came later."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.errors import CooperageError
from cooperage.exchange.reports.periods import report_of_period
from cooperage.exchange.reports.printed import period_contents, report_text
from cooperage.programme.periods.closing import PeriodNotOver, close_period
from cooperage.programme.periods.differences import differences, later_counts, lines_words, sum_by_line
from cooperage.programme.periods.period import NOTE, FiledPeriod
from cooperage.programme.periods.shown import ShownPeriod, carried_lines, shown_period, shown_to_file
from cooperage.programme.periods.stored import filed_in
from cooperage.tui.forms.papers import Paper
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.periods.count import PeriodCountDialog
from cooperage.tui.periods.words import (
    COLUMNS,
    ListedPeriod,
    closing_question,
    filed_words,
    late_lines,
    period_cells,
    shown_lines,
)
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.line_list import ColumnList
from cooperage.tui.shared.wrapped import Wrapped


class PeriodsScreen(CellarScreen):
    """The next period to close and those that were filed; below, the figures of one, or what came later for it.

    A period that is closed stays as it is. What is written for it later goes into the next, on lines of its own.
    """

    NAME = "periods"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("write", "close_period", "close"),
        bound("view", "show_later", "later"),
        bound("edit", "correct", "correct"),
        bound("check", "count", "count"),
        bound("print", "print_period", "print"),
        bound("next", "app.focus_next", "next list"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._listed: list[ListedPeriod] = []
        self._found_of: dict[str, ShownPeriod | CooperageError] = {}
        self._is_late_side = False

    def compose_body(self) -> ComposeResult:
        """The periods, and the one under the cursor."""
        yield Static("", id="periods-head", markup=False)
        yield ColumnList("#periods-head", id="periods", takes=False)
        yield Wrapped(id="period")

    def on_mount(self) -> None:
        """Begin on the periods."""
        self.set_focus(self._list)

    @property
    def _list(self) -> ColumnList:
        return self.query_one("#periods", ColumnList)

    @property
    def current(self) -> ListedPeriod | None:
        """The period under the cursor."""
        at = self._list.cursor
        return self._listed[at] if at < len(self._listed) else None

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Read the periods again: an entry may have come for one that is filed."""
        self.run_slow_work("periods", self._read, self._take)

    def _read(self) -> tuple[list[ListedPeriod], ShownPeriod]:
        book = self.desk.book
        following = shown_period(book, None, self.units)
        with book.reading() as connection:
            filed = filed_in(connection)
            late = later_counts(connection, filed)
        corrected = {each.corrects: each.code for each in filed if each.corrects}
        listed = [
            ListedPeriod(each.code, each, late[each.code], corrected.get(each.code, "")) for each in reversed(filed)
        ]
        return [ListedPeriod(following.code, None), *listed], following

    def _take(self, done: tuple[list[ListedPeriod], ShownPeriod]) -> None:
        self._listed, following = done
        self._found_of = {following.code: following}
        found = self._listed
        self._list.set_rows(COLUMNS, map(period_cells, found))
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show the period that the cursor is on."""
        self._show_current()

    def on_resize(self) -> None:
        """Lay the tables out for the room there is now."""
        self.call_after_refresh(self._show_current)

    def _show_current(self) -> None:
        listed, body = self.current, self.query_one(Wrapped)
        self.refresh_bindings()
        if listed is None:
            return
        found = self._found_of.get(listed.code)
        if found is None:
            body.show_text("calculating …")
            self.run_slow_work("period", lambda: self._found(listed), lambda it: self._take_shown(listed, it))
        elif isinstance(found, CooperageError):
            body.show_text(said(found, self.units))
        elif self._is_late_side:
            self._show_later(listed)
        else:
            body.show_text(*shown_lines(found, self.units, body.scrollable_content_region.width))

    def _show_later(self, listed: ListedPeriod) -> None:
        """Show what came later for a filed period, or what the next one takes on of all of them."""
        book, units, body = self.desk.book, self.units, self.query_one(Wrapped)

        def read() -> list[str]:
            late = differences(book, listed.itself if listed.filed else None)
            return late_lines(late, [] if listed.filed or not late else carried_lines(book, units), units)

        def take(lines: list[str]) -> None:
            if self.current is listed and self._is_late_side:
                body.show_text(*lines)

        self.run_slow_work("later", read, take)

    def _found(self, listed: ListedPeriod) -> ShownPeriod | CooperageError:
        try:
            return shown_period(self.desk.book, listed.itself, self.units)
        except CooperageError as error:
            return error

    def _take_shown(self, listed: ListedPeriod, found: ShownPeriod | CooperageError) -> None:
        self._found_of[listed.code] = found
        if self.current is listed:
            self._show_current()

    # --- keys -------------------------------------------------------------------------------------------------------

    def action_show_later(self) -> None:
        """Show what came later, or the figures again."""
        self._is_late_side = not self._is_late_side
        self._show_current()

    def action_close_period(self) -> None:
        """Close the period after a question that names what stands in the way, or show why it cannot be closed."""
        listed = self.current
        found = self._found_of.get(listed.code) if listed else None
        if not isinstance(found, ShownPeriod):
            return
        if found.filed is not None:
            self.show_message(
                f"{found.code} is filed and stays as it is; {pressed('edit')} files a correction of the last."
            )
            return
        if not found.can_close:
            self.refuse(PeriodNotOver(found.figures.span, self.desk.book.now()))
            return
        self._ask(f"{closing_question(found)}\n{NOTE}", "close it", found, correct=False)

    def action_count(self) -> None:
        """Hold a physical count against the period under the cursor; it can be closed with it."""
        found = self._found_of.get(self.current.code) if self.current else None
        if isinstance(found, ShownPeriod):

            def closed(words: str | None) -> None:
                if words is not None:
                    self.show_message(words)

            self.app.push_screen(PeriodCountDialog(found), closed)

    def action_print_period(self) -> None:
        """Show the period as it is printed, to be saved as text, as a page or as a table."""
        found = self._found_of.get(self.current.code) if self.current else None
        if not isinstance(found, ShownPeriod):
            return
        book, units = self.desk.book, self.units

        def calculate() -> tuple[str, str]:
            report = report_of_period(found, units)
            return report.title, report_text(book, report, units)

        def show(done: tuple[str, str]) -> None:
            title, text = done
            name = f"period-{found.code.replace('/', '-')}.html"
            self.app.push_screen(Paper(title, text, name, period_contents(book, found, text, units)))

        self.run_slow_work("paper", calculate, show)

    def action_correct(self) -> None:
        """File a correction of the last period after a question that has what it changes."""
        listed, book, units = self.current, self.desk.book, self.units
        if listed is None or listed.filed is None:
            self.show_message("This one is not filed yet: there is nothing to correct.")
            return
        filed = listed.filed

        def read() -> tuple[ShownPeriod, str]:
            shown = shown_to_file(book, filed.span, filed.figures.unit, units, correct=True)
            changes = lines_words(sum_by_line(differences(book, filed.code)).items(), units)
            return shown, changes or "by class alone"

        def ask(done: tuple[ShownPeriod, str]) -> None:
            words = f"File a correction of {filed.code}? It changes {done[1]}. Both stay.\n{NOTE}"
            self._ask(words, "file it", done[0], correct=True)

        self.run_slow_work("correction", read, ask)

    def _ask(self, words: str, yes: str, shown: ShownPeriod, *, correct: bool) -> None:
        self.app.push_screen(
            Confirm(words, yes), lambda agreed: self._close(shown, correct=correct) if agreed else None
        )

    def _close(self, shown: ShownPeriod, *, correct: bool) -> None:
        def closed(filed: FiledPeriod) -> None:
            self.show_message(filed_words(filed))

        self.desk.attempt(
            lambda _sure: close_period(
                self.desk.book,
                shown.figures.span,
                shown.figures.unit,
                hand=self.desk.hand,
                correct=correct,
                sure=True,  # what stands in the way was shown and answered
                seen=shown.figures,
                units=self.units,
            ),
            closed,
            self.refuse,
        )
