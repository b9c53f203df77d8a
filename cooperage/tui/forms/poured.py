"""What goes into which glass of a flight that was just poured: asked for, and shown to the one who pours alone."""

from collections.abc import Callable

from textual.screen import Screen

from cooperage.tasting.flights import Flight
from cooperage.tui.shared.dialogs import Confirm, Shown


def pour_question(code: str) -> str:
    """Return what is asked of the person who has just poured a flight."""
    only = "Only the person who pours should look, and should not taste."
    return f"Show what goes into which glass of {code}?\n\n{only}"


def pour_lines(flight: Flight) -> list[str]:
    """Return which sample goes into which glass: only for the person who pours."""
    return [f"{glass.position:>3}.  glass {glass.code}  from {glass.holds}" for glass in flight.glasses]


def ask_to_show(screen: Screen[None], question: str, show: Callable[[], None]) -> None:
    """Ask, and show what goes where only after a yes."""
    screen.app.push_screen(Confirm(question, yes="I pour, show it"), lambda yes: show() if yes else None)


def ask_who_pours(screen: Screen[None], flight: Flight) -> None:
    """Ask who pours a flight whether to show what goes into which glass."""

    def show() -> None:
        screen.app.push_screen(Shown(f"Pour {flight.code}, in this order, then close", pour_lines(flight)))

    ask_to_show(screen, pour_question(flight.code), show)
