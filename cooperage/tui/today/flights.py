"""A flight of the day is poured: blind, in one step; who pours is shown what goes where, once."""

from collections.abc import Callable

from cooperage.programme.today.planned import PlannedFlight, pour_planned
from cooperage.tasting.flights import Flight
from cooperage.tasting.pulling import last_pull
from cooperage.tui.forms.poured import ask_who_pours
from cooperage.tui.keys import pressed
from cooperage.tui.shared.cellar_screen import CellarScreen


def pour_as_planned(screen: CellarScreen, planned: PlannedFlight, then: Callable[[], None]) -> None:
    """Pour a flight that is asked for, call `then`, and ask who pours whether to show what goes into which glass."""
    desk = screen.desk
    each_ml = last_pull(desk.book, desk.hand)

    def pour(sure: bool) -> Flight:
        return pour_planned(desk.book, planned, each_ml, hand=desk.hand, sure=sure)

    def poured(flight: Flight) -> None:
        screen.show_poured(f"Poured as flight {flight.code}: score it on {pressed('panel')}.", flight.code)
        then()
        ask_who_pours(screen, flight)

    desk.attempt(pour, poured, screen.refuse)
