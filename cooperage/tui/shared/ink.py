"""How a line shows its states: the three marks, and the colour of each role in the theme in use.

A line that is drawn as `rich.text.Text` asks here: `text.append(f"{TROUBLE} leak", ink(self.app, "ember"))`. A sheet
writes `$ember`. Colour never carries a meaning alone: the mark or the word stands beside it.
"""

from functools import cache
from typing import Any

from rich.style import Style
from textual.app import App

TROUBLE, DUE, DONE = "▲", "○", "✓"
"""What is wrong; what is to be done; what is done."""

SKIPPED, OUT_OF_REACH, HERE = "»", "↑", "›"

_BOLD = frozenset({"ember"})


def ink(app: App[Any], role: str, *, bold: bool = False) -> Style:
    """Return the style of a role (`themes.ROLES`) in the theme in use; trouble is always bold."""
    return _style(app.theme_variables[role], bold or role in _BOLD)


def plate(app: App[Any], step: int) -> Style:
    """Return the plate of a step from 1 to 7 of a measure, with the colour a figure on it is written in."""
    made = app.theme_variables
    return Style(color=made[f"on-heather-{step}"], bgcolor=made[f"heather-{step}"])


@cache
def _style(colour: str, bold: bool) -> Style:
    return Style(color=colour, bold=bold or None)
