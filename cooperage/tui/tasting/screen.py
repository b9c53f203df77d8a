"""Tasting: flights poured blind, scored by each taster alone, revealed at the end."""

from collections.abc import Callable, Hashable, Sequence
from functools import partial
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.book import Cellar
from cooperage.tasting.flights import Flight, Results, flights, peek, results, reveal
from cooperage.tui.keys import bound, pressed, rebind
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm, Shown
from cooperage.tui.shared.ink import ink
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.tui.tasting.new_flight import NewFlight
from cooperage.tui.tasting.results import result_lines
from cooperage.tui.tasting.scores import ScoreSheet
from cooperage.tui.tasting.words import (
    about_flight,
    blind_lines,
    flight_line,
    flights_head,
    is_blind,
    pour_lines,
    unscored,
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
        bound("new", "new", "new flight"),
        bound("glasses", "pour_sheet", "what to pour"),
        bound("view", "reveal", "reveal"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._flights: list[Flight] = []
        self._is_read = False
        self._wanted = ""
        self._results: dict[str, Results | None] = {}

    def compose_body(self) -> ComposeResult:
        """The flights, and the flight under the cursor."""
        yield Static("", id="flights-head", markup=False)
        yield FlightList(id="flights")
        yield Wrapped(id="flight")

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
        self.run_slow_work("flights", lambda: flights(self.desk.book), self._take)

    def _take(self, found: list[Flight]) -> None:
        self._flights, self._is_read = found, True
        listed = self.query_one("#flights", LineList)
        inks, now = partial(ink, self.app), self.desk.book.now()
        listed.set_lines(len(found), lambda index, width: flight_line(found[index], width, inks, now))
        codes = [flight.code for flight in found]
        if self._wanted in codes:
            listed.cursor = codes.index(self._wanted)
            self._wanted = ""
        self._go_to_wanted()
        self._show_current()

    def on_screen_resume(self) -> None:
        """Go to the flight that was asked for elsewhere."""
        super().on_screen_resume()
        self._go_to_wanted()

    def _go_to_wanted(self) -> None:
        codes = [flight.code for flight in self._flights]
        if self.desk.code in codes:
            self.query_one(FlightList).cursor = codes.index(self.desk.code)
            self.desk.code = ""

    @property
    def current(self) -> Flight | None:
        """The flight under the cursor."""
        return self._flights[self.query_one("#flights", LineList).cursor] if self._flights else None

    def on_line_list_moved(self) -> None:
        """Show the flight under the cursor."""
        self._show_current()

    def _show_current(self) -> None:
        flight, now = self.current, self.desk.book.now()
        self.query_one(FlightList).offer("score" if flight is not None and is_blind(flight) else "results")
        if flight is None:
            first = f"No flight has been poured yet. Press {pressed('new')} to pour the first." if self._is_read else ""
            self._show_words(first, lambda _width: [first])
        elif is_blind(flight):
            self._show_words(
                (flight.code, len(flight.scores)), lambda _width: [*about_flight(flight, now), "", *blind_lines(flight)]
            )
        elif flight.code in self._results:  # a revealed flight never changes
            self._show_results(flight, self._results[flight.code])
        else:
            self.run_slow_work("results", lambda: results(flight), lambda found: self._show_results(flight, found))

    def _show_results(self, flight: Flight, found: Results | None) -> None:
        self._results[flight.code] = found
        if flight is self.current:
            inks, now = partial(ink, self.app), self.desk.book.now()
            self._show_words(
                flight.code,
                lambda width: [*about_flight(flight, now), *result_lines(flight, found, self.units, width, inks)],
            )

    def _show_words(self, about: Hashable, lines: Callable[[int], Sequence[str | Text]]) -> None:
        self.query_one(Wrapped).show_of(about, lines)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Scores are given, and codes revealed, only while a flight is blind."""
        if action in ("reveal", "pour_sheet"):
            return self.current is not None and is_blind(self.current)
        return True

    def on_line_list_taken(self) -> None:
        """Score a blind flight; read the results of a revealed flight, which have all the room then."""
        if self.current is not None and is_blind(self.current):
            self.action_score()
        else:
            self.add_class("-reading")
            self.set_focus(self.query_one("#flight"))

    def action_new(self) -> None:
        """Pour a flight."""

        def poured(flight: Flight | None) -> None:
            if flight is not None:
                self._wanted = flight.code
                glasses = counted(len(flight.glasses), "glass", "glasses")
                self.show_message(f"Poured flight {flight.code}: {glasses}, scale {flight.scale}.")
                ask_to_show_pour(self, flight, self._show_pour)

        self.app.push_screen(NewFlight(), poured)

    def action_pour_sheet(self) -> None:
        """Show the person who pours what goes into which glass."""
        if self.current is not None:
            ask_to_show_pour(self, self.current, self._peek_and_show)

    def _peek_and_show(self, flight: Flight) -> None:
        """Show what is in the glasses once more; that it was looked up is written."""
        self.desk.attempt(
            lambda _sure: peek(self.desk.book, flight.code, hand=self.desk.hand), self._show_pour, self.refuse
        )

    def _show_pour(self, flight: Flight) -> None:
        self.app.push_screen(Shown(f"Pour {flight.code} in this order, then close", pour_lines(flight)))

    def action_score(self) -> None:
        """Open the score sheet for each taster in turn."""
        if self.current is not None:
            self.app.push_screen(ScoreSheet(self.current))

    def _reveal_of(self, flight: Flight) -> Callable[[bool], Flight]:
        """Return what reveals a flight; the question before it names who has glasses left, so it asks no more."""
        return lambda _sure: reveal(self.desk.book, flight.code, hand=self.desk.hand, sure=True)

    def action_reveal(self) -> None:
        """Reveal the codes, after asking once."""
        flight = self.current
        if flight is None:
            return

        def revealed(_flight: Flight) -> None:
            self.show_message(f"Revealed {flight.code}; its scores are final.")

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(self._reveal_of(flight), revealed, self.refuse)

        self.app.push_screen(Confirm(_reveal_question(flight), yes="reveal"), answered)


def _reveal_question(flight: Flight) -> str:
    waiting = unscored(flight)
    short = f"\n{', '.join(waiting)} did not score every glass." if waiting else ""
    none = "\nNo taster has scored it." if not flight.tasters else ""
    return f"Reveal the codes of {flight.code}?{short}{none}\n\nThis locks its scores; no more can be given."


def ask_to_show_pour(screen: CellarScreen, flight: Flight, show: Callable[[Flight], None]) -> None:
    """Show the sheet if the person confirms that they pour."""

    def answered(yes: bool | None) -> None:
        if yes:
            show(flight)

    only = "Only the person who pours should look, and should not taste."
    question = f"Show what goes into which glass of {flight.code}?\n\n{only}"
    screen.app.push_screen(Confirm(question, yes="I pour, show it"), answered)
