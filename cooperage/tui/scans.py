"""A scan into a dialog that does not take scans itself: it lands in a row that asks for a tag, or is refused there."""

from typing import Any

from textual.screen import ModalScreen, Screen
from textual.widgets import Input, TextArea
from textual.widgets.input import Selection

from cooperage.tui.key_queue import Scanned
from cooperage.tui.shared.desk import Desk
from cooperage.tui.shared.dialogs import show_in_dialog
from cooperage.tui.shared.field_list import scanned_into

_BOXES_FOR_TAGS = ("tag", "control")
"""Boxes of dialogs, by their ids, that ask for a tag themselves and take one with Enter."""


def scanned_in_dialog(screen: Screen[Any], desk: Desk, text: str, stood: str | None) -> Scanned:
    """Take a scan into a row of fields, or refuse it anywhere else: what stood stays, selected; nothing is answered."""
    if not isinstance(screen, ModalScreen) or not desk.is_like_a_tag(text):
        return Scanned.LEFT
    into_row, box = scanned_into(screen, desk, text), screen.focused
    if into_row is not Scanned.LEFT or isinstance(box, TextArea) or (box is not None and box.id in _BOXES_FOR_TAGS):
        return into_row
    if isinstance(box, Input) and stood is not None:
        box.selection = Selection(0, len(box.value))
    show_in_dialog(screen, f"{text} was scanned; something else is asked for here")
    return Scanned.REFUSED
