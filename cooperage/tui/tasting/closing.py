"""What is asked on screen before a flight of either kind is closed, and who leaves it before its end."""

from collections.abc import Callable

from cooperage.errors import CooperageError
from cooperage.tasting.difference.closing import leave, reveal_any
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import any_flight
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm, Pick
from cooperage.tui.tasting.words import AnyFlight, close_question, close_test_question
from cooperage.units import counted


def ask_to_reveal(screen: CellarScreen, poured: AnyFlight, then: Callable[[AnyFlight], None]) -> None:
    """Close a flight and reveal its codes, after asking once."""
    book, hand = screen.desk.book, screen.desk.hand

    def revealed(closed: AnyFlight) -> None:
        given = "answers" if isinstance(closed, DifferenceFlight) else "scores"
        screen.show_message(f"Revealed {closed.code}; its {given} are final.")
        then(closed)

    def answered(yes: bool | None) -> None:
        if yes:
            screen.desk.attempt(
                lambda _sure: reveal_any(book, poured.code, hand=hand, sure=True), revealed, screen.refuse
            )

    question = close_test_question(poured) if isinstance(poured, DifferenceFlight) else close_question(poured)
    screen.app.push_screen(Confirm(question, yes="reveal"), answered)


def ask_who_leaves(screen: CellarScreen, code: str) -> None:
    """Ask which taster leaves a flight, of those it waits for, and write it."""
    book, hand = screen.desk.book, screen.desk.hand
    try:
        poured = any_flight(book, code)
    except CooperageError as error:
        screen.refuse(error)
        return
    of = ("set", "sets") if isinstance(poured, DifferenceFlight) else ("glass", "glasses")
    there = [(taster, f"{taster}  {counted(count, *of)} left") for taster, count in poured.left_to_give()]
    if not there:
        screen.show_message(f"{code} waits for no taster.")
        return

    def left(closed: AnyFlight, taster: str) -> None:
        screen.show_message(f"{taster} left {closed.code}, which waits for {taster} no more.")

    def chosen(taster: str | None) -> None:
        if taster is not None:
            screen.desk.attempt(
                lambda _sure: leave(book, code, taster, hand=hand), lambda closed: left(closed, taster), screen.refuse
            )

    screen.app.push_screen(Pick(f"Who leaves {code} before its end?", there), chosen)
