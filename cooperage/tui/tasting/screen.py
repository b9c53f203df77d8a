"""Tasting: flights poured blind, scored by each taster alone, closed at the end; what the panel found, and decided."""

from collections.abc import Hashable
from functools import partial
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.book import KINDS, Cellar
from cooperage.book.declared.verdicts import Judgement
from cooperage.errors import CooperageError
from cooperage.tasting.closed import ClosedFlight, closed_flight
from cooperage.tasting.difference.closing import peek_any
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import any_flight, every_flight
from cooperage.tasting.flights import Flight
from cooperage.tasting.flights.closing import WrittenVerdict
from cooperage.tasting.over_years import ScaleRecords, records_over_years
from cooperage.tui.forms.poured import ask_to_show, pour_lines, pour_question
from cooperage.tui.keys import bound, pressed, rebind
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Shown
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.tasting.answers import AnswerSheet
from cooperage.tui.tasting.closing import ask_to_reveal, ask_who_leaves
from cooperage.tui.tasting.judge_form import JudgeFlight
from cooperage.tui.tasting.new_flight import LeftForm, NewFlight
from cooperage.tui.tasting.new_test import NewTest
from cooperage.tui.tasting.papers import ScoreFile, show_results_paper, show_sheets, show_test_paper
from cooperage.tui.tasting.result_text import ResultText
from cooperage.tui.tasting.results import Row
from cooperage.tui.tasting.scores import ScoreSheet
from cooperage.tui.tasting.sides import is_side_of_years, side_lines
from cooperage.tui.tasting.words import (
    AnyFlight,
    about_flight,
    about_test,
    blind_lines,
    blind_test_lines,
    closed_codes,
    closed_test_lines,
    flight_line,
    flights_head,
    is_blind,
    peek_question,
    pour_test_lines,
)
from cooperage.units import counted


class FlightList(LineList):
    """The flights; Enter opens the score sheets of one that is blind, and goes to the results of another."""

    _offered = ""

    def offer(self, what: str) -> None:
        """Show on the bar what Enter does with the flight under the cursor."""
        if what != self._offered:  # the bar is read again only then
            self._offered = what
            rebind(self, bound("enter", "take", what))
            self.refresh_bindings()


class TastingScreen(CellarScreen):
    """Flights, newest first: pour a flight blind, let each taster score it alone, reveal the codes, see the ranking."""

    NAME = "panel"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("view", "reveal", "reveal"),
        bound("view", "turn_side", "next side"),
        bound("judge", "judge", "judge"),
        bound("new", "new", "new flight"),
        bound("pour", "new_test", "difference test"),
        bound("retire", "taster_leaves", "taster leaves"),
        bound("print", "print_paper", "print"),
        bound("glasses", "look_up", "look codes up"),
        bound("open", "take_file", "scores from a file"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._flights: list[AnyFlight] = []
        self._is_read = False
        self._wanted = self._asks_for = ""
        self._left = LeftForm()
        self._revealed: dict[str, ClosedFlight] = {}
        self._tests: dict[str, list[str]] = {}
        self._sides: dict[str, int] = {}
        self._years: list[ScaleRecords] | None = None  # worked out when they are looked at first
        self._offered = True, False

    def compose_body(self) -> ComposeResult:
        """The flights, and the flight under the cursor."""
        yield Static("", id="flights-head", markup=False)
        yield FlightList(id="flights")
        yield ResultText(id="flight")

    def on_mount(self) -> None:
        """Begin on the list."""
        self.set_focus(self.query_one("#flights"))

    def on_resize(self) -> None:
        """Draw to the new width."""
        width = self.query_one("#flights").size.width
        self.query_one("#flights-head", Static).update(flights_head(width), layout=False)
        if self._is_read:
            self._show_current()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Give the list its room again where the keys go back to it."""
        if event.widget.id == "flights":
            self.remove_class("-reading")

    def action_back(self) -> None:
        """Go from the results to the list of flights; from there back."""
        flights_listed = self.query_one(FlightList)
        if self.focused is self.query_one("#flight"):
            self.remove_class("-reading")
            self.set_focus(flights_listed)
        else:
            super().action_back()

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - flights are read beside it
        """Read the flights again."""
        self.run_slow_work("flights", lambda: every_flight(self.desk.book), self._take)

    def _take(self, found: list[AnyFlight]) -> None:
        if closed_codes(found) != closed_codes(self._flights):
            self._years = None
            self._tests.clear()  # one of the same two may have come
        self._flights, self._is_read = found, True
        listed = self.query_one("#flights", LineList)
        inks, now = partial(ink, self.app), self.desk.book.now()
        listed.set_lines(len(found), lambda index, width: flight_line(found[index], width, inks, now))
        codes = [flight.code for flight in found]
        if self._wanted in codes:
            listed.cursor = codes.index(self._wanted)
            self._wanted = ""
        self.action_go_to_wanted()
        self._show_current()

    def on_screen_resume(self) -> None:
        """Go to the flight that was asked for elsewhere."""
        super().on_screen_resume()
        self.action_go_to_wanted()

    def action_go_to_wanted(self) -> None:
        """Stand at the flight."""
        codes = [flight.code for flight in self._flights]
        if self.desk.code in codes:
            self.query_one(FlightList).cursor = codes.index(self.desk.code)
            self.desk.code = ""

    @property
    def current(self) -> AnyFlight | None:
        """The flight under the cursor."""
        return self._flights[self.query_one("#flights", LineList).cursor] if self._flights else None

    def on_line_list_moved(self) -> None:
        """Show the flight under the cursor."""
        self._show_current()

    def _show_current(self) -> None:
        poured, now = self.current, self.desk.book.now()
        does = "answer" if isinstance(poured, DifferenceFlight) else "score"
        self.query_one(FlightList).offer(does if poured is not None and is_blind(poured) else "results")
        text = self.query_one(ResultText)
        if poured is None:
            first = f"No flight yet. {pressed('new')} pours one: scan the barrels, then {pressed('write')}."
            text.show_rows(self._is_read, lambda _width: [first] * self._is_read)
        elif isinstance(poured, DifferenceFlight):
            self._show_test(poured)
        elif is_blind(poured):
            about = poured.code, len(poured.scores), len(poured.panel), len(poured.departed)
            text.show_rows(about, lambda _width: [*about_flight(poured, now), "", *blind_lines(poured)])
        elif poured.code in self._revealed:  # a revealed flight never changes
            self._show_closed(self._revealed[poured.code])
        else:
            self._work_out(poured)
        self._offer_keys()

    def _show_test(self, poured: DifferenceFlight) -> None:
        """Show who has answered a blind test; what a revealed one showed, which is worked out once."""
        now, text = self.desk.book.now(), self.query_one(ResultText)
        if is_blind(poured):
            about: Hashable = (poured.code, len(poured.answered), len(poured.peeks), len(poured.departed))
            text.show_rows(about, lambda _width: [*about_test(poured, now, self.units), "", *blind_test_lines(poured)])
        elif poured.code in self._tests:
            lines = self._tests[poured.code]
            text.show_rows((poured.code, *lines), lambda _width: [*about_test(poured, now, self.units), "", *lines])
        else:
            group = f"results {poured.code}"
            self.run_slow_work(
                group,
                partial(closed_test_lines, self.desk.book, poured, self.units),
                partial(self._test_worked_out, poured.code),
            )

    def _test_worked_out(self, code: str, lines: list[str]) -> None:
        self._tests[code] = lines
        if self.current is not None and self.current.code == code:
            self._show_current()

    def _work_out(self, poured: Flight) -> None:
        """Work out what a closed flight shows, unless that goes on already."""
        group = f"results {poured.code}"
        if not any(worker.group == group and worker.is_running for worker in self.workers):
            self.run_slow_work(group, lambda: closed_flight(self.desk.book, poured, self.units), self._show_closed)

    def _show_closed(self, closed: ClosedFlight) -> None:
        poured = closed.flight
        self._revealed[poured.code] = closed
        if self._asks_for == poured.code:
            self._asks_for = ""
            self._ask_for_verdicts(closed)
        if self.current is None or poured.code != self.current.code:
            return
        inks, now = partial(ink, self.app), self.desk.book.now()
        side, judged = self._sides.get(poured.code, 0), self._judged_in(poured)
        about: Hashable = (poured.code, side, tuple(judged.items()), self._years is None)

        def lines(width: int) -> list[Row]:
            shown = side_lines(closed, side, judged, self.units, width, inks, years=self._years, with_years=True)
            return [*about_flight(poured, now), *shown]

        self.query_one(ResultText).show_rows(about, lines)
        self._offer_keys()
        if self._years is None and is_side_of_years(closed, side):
            self.run_slow_work("years", lambda: records_over_years(self.desk.book), self._take_years)

    def _take_years(self, found: list[ScaleRecords]) -> None:
        self._years = found
        self._show_current()

    def _offer_keys(self) -> None:
        """Look again at which keys act, where another kind of flight is under the cursor."""
        poured = self.current
        state = poured is None, poured is not None and poured.code in self._revealed
        if state != self._offered:
            self._offered = state
            self.refresh_bindings()

    def _judged_in(self, poured: Flight) -> dict[str, str]:
        """Return what was decided about the vessels of a flight after it, as the book has it now."""
        tags = [glass.vessel for glass in poured.glasses if glass.vessel is not None]
        there = [self.desk.cellar[tag] for tag in tags if tag in self.desk.cellar]
        return {
            each.tag: each.judged.decided.words
            for each in there
            if each.judged is not None and each.judged.flight == poured.code
        }

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Scores are given, and codes looked up, only while a flight is blind; it is judged after."""
        poured = self.current if self.is_mounted else None
        if action in ("reveal", "look_up", "take_file", "taster_leaves"):
            return poured is not None and is_blind(poured)
        if action in ("turn_side", "judge"):
            closed = self._revealed.get(poured.code) if poured is not None else None
            return closed is not None and (action == "turn_side" or closed.flight.takes_verdicts)
        if action == "print_paper" and isinstance(poured, DifferenceFlight):
            return is_blind(poured) or poured.code in self._tests
        return poured is not None if action == "print_paper" else True

    def on_line_list_taken(self) -> None:
        """Score a blind flight; read the results of a revealed flight, which have all the room then."""
        if self.current is not None and is_blind(self.current):
            self.action_score()
        else:
            self.add_class("-reading")
            self.set_focus(self.query_one("#flight"))

    def on_result_text_opened(self, event: ResultText.Opened) -> None:
        """Open the page of the vessel at the pointer."""
        if event.tag in self.desk.cellar:
            self.open_page(event.tag)

    def action_new(self) -> None:
        """Pour a flight."""

        def poured(made: Flight | None) -> None:
            if made is None and self._left.marked:
                self.show_message(f"Nothing is poured; {pressed('new')} brings back what was marked and typed, today.")
            if made is not None:
                self._wanted = made.code
                self.show_message(f"Poured flight {made.code}: {counted(len(made.glasses), 'glass', 'glasses')}.")
                ask_to_show(self, pour_question(made.code), lambda: self._show_pour(made))

        self.app.push_screen(NewFlight(self._left), poured)

    def action_new_test(self) -> None:
        """Pour a difference test."""

        def poured(made: DifferenceFlight | None) -> None:
            if made is not None:
                self._wanted = made.code
                self.show_message(f"Poured {made.code}: {counted(len(made.sets), 'set')}, a {made.question.test} test.")
                ask_to_show(self, pour_question(made.code), lambda: self._show_pour(made))

        self.app.push_screen(NewTest(), poured)

    def action_look_up(self) -> None:
        """Show what goes into which glass; who looked is written."""
        poured, book, hand = self.current, self.desk.book, self.desk.hand
        if poured is None:
            return
        code = poured.code

        def look() -> None:
            self.desk.attempt(lambda _sure: peek_any(book, code, hand=hand), self._show_pour, self.refuse)

        ask_to_show(self, peek_question(poured, hand), look)

    def _show_pour(self, poured: AnyFlight) -> None:
        lines = pour_test_lines(poured) if isinstance(poured, DifferenceFlight) else pour_lines(poured)
        how = "then close" if isinstance(poured, DifferenceFlight) else "in this order, then close"
        self.app.push_screen(Shown(f"Pour {poured.code}, {how}", lines))

    def action_score(self) -> None:
        """Open the score sheet for each taster in turn."""
        poured = self.current
        if poured is not None:
            sheet = AnswerSheet(poured) if isinstance(poured, DifferenceFlight) else ScoreSheet(poured)
            self.app.push_screen(sheet, lambda _none: self.show_cellar(self.desk.cellar))

    def action_take_file(self) -> None:
        """Take scores from a table that tasters filled in."""
        if self.current is not None:
            is_test = isinstance(self.current, DifferenceFlight)
            asked = ScoreFile(self.current.code, is_test=is_test)
            self.app.push_screen(asked, lambda words: self.show_message(words) if words is not None else None)

    def action_print_paper(self) -> None:
        """Show a sheet for each taster of a blind flight, or the results of another, to be saved."""
        poured = self.current
        if poured is None:
            return
        if isinstance(poured, DifferenceFlight):
            show_test_paper(self, poured, self._tests.get(poured.code))
        elif is_blind(poured):
            show_sheets(self, poured)
        elif poured.code in self._revealed:
            show_results_paper(self, self._revealed[poured.code])

    # --- closing and judging ----------------------------------------------------------------------------------------

    def action_reveal(self) -> None:
        """Close the flight and reveal its codes, after asking once; then propose what the panel decided."""
        if self.current is None:
            return
        try:
            poured = any_flight(self.desk.book, self.current.code)
        except CooperageError as error:
            self.refuse(error)
            return

        def revealed(closed: AnyFlight) -> None:
            if isinstance(closed, Flight):
                if any(given.verdict for given in closed.scores.values()):
                    self._asks_for = closed.code
                self._work_out(closed)

        ask_to_reveal(self, poured, revealed)

    def action_taster_leaves(self) -> None:
        """Ask who leaves a blind flight before its end."""
        if self.current is not None:
            ask_who_leaves(self, self.current.code)

    def action_turn_side(self) -> None:
        """Turn to the next side of the results."""
        if self.current is not None and self.current.code in self._revealed:
            self._sides[self.current.code] = self._sides.get(self.current.code, 0) + 1
            self._show_closed(self._revealed[self.current.code])

    def action_judge(self) -> None:
        """Judge the vessel at the pointer of the results; from the list, all vessels of the flight."""
        if self.current is None or self.current.code not in self._revealed:
            return
        closed, text = self._revealed[self.current.code], self.query_one(ResultText)
        if self.focused is text and text.vessel is not None:
            self._judge(closed, text.vessel)
        else:
            self._ask_for_verdicts(closed)

    def _judge(self, closed: ClosedFlight, tag: str) -> None:
        proposed = next((each.proposed for each in closed.verdicts if each.vessel == tag), None) or Judgement("")
        texts = {"vessel": tag, "verdict": proposed.word, "flight": closed.flight.code}
        texts["weeks"] = "" if proposed.weeks is None else str(proposed.weeks)
        self.open_form(KINDS["judge"], texts, lambda _written: None, first="verdict")

    def _ask_for_verdicts(self, closed: ClosedFlight) -> None:
        self.app.push_screen(JudgeFlight(closed), self._judged)

    def _judged(self, written: list[WrittenVerdict] | None) -> None:
        if written:
            words = ", ".join(f"{each.vessel} {each.decided.words}" for each in written)
            self.show_done(f"Written: {words}", [each.entry_id for each in written])
