"""Who is at work: asked at any moment, over a dialog too; what is written from then on is signed with that name."""

from typing import Any

from textual.app import App
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widgets import Input

from cooperage.tui.shared.bars import TopBar
from cooperage.tui.shared.desk import desk_of
from cooperage.tui.shared.dialogs import Pick
from cooperage.tui.shared.field_list import FieldList


class WhoIsAtWork(Pick):
    """Asks for one of the hands, or a new name."""


def ask_who(app: App[Any]) -> None:
    """Ask who is at work, unless it is being asked."""
    if isinstance(app.screen, WhoIsAtWork):
        return
    desk = desk_of(app)

    def answered(hand: str | None) -> None:
        if hand is not None:
            for screen in app.screen_stack:
                _sign(screen, desk.hand, hand)
            show_hand(app, hand)

    hands = [(hand, hand) for hand in desk.hands()]
    app.push_screen(WhoIsAtWork("Who is at work?", hands, desk.hand, anything="a new name"), answered)


def show_hand(app: App[Any], hand: str) -> None:
    """Take a hand for the one at work, and show it on every bar."""
    desk_of(app).hand = hand
    for screen in app.screen_stack:
        for bar in screen.query(TopBar):
            bar.show_hand(hand)


def _sign(screen: Screen[Any], before: str, hand: str) -> None:
    """Let an open form be signed by another hand, where it was to be by the one `before`."""
    for fields in screen.query(FieldList):
        row = fields.by_name.get("hand")
        if row is not None and row.text == before:
            row.set_text(hand)
    try:
        box = screen.query_one("#hand", Input)
    except NoMatches:
        return
    if box.value == before:
        box.value = hand
