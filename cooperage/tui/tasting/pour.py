"""The pour sheet: which sample goes into which glass, shown to the one who pours and only after asking."""

from cooperage.tasting.flights import Flight
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.shared.shown import Shown
from cooperage.tui.tasting.words import pour_lines


def ask_to_show_pour(screen: CellarScreen, flight: Flight) -> None:
    """Show the sheet if the person says to be the one who pours."""

    def answered(yes: bool | None) -> None:
        if yes:
            screen.app.push_screen(Shown(f"Pour {flight.code} in this order, then close", pour_lines(flight)))

    told = (
        f"Show what goes into which glass of {flight.code}?\n\nOnly the one who pours should look, and then not taste."
    )
    screen.app.push_screen(Confirm(told, yes="I pour: show it"), answered)
