"""How a line shows its states: the three marks, and the colour of each role in the theme in use.

A line that is drawn as `rich.text.Text` asks here: `text.append(f"{TROUBLE} leak", ink(self.app, "ember"))`; sheets
name the same roles. Colour never carries a meaning alone: the mark or the word stands beside it.
"""

from functools import cache
from typing import Any

from rich.style import Style
from textual.app import App
from textual.content import Content

from cooperage.programme.signs.sign import Sign, SignState
from cooperage.tui.themes import PLAIN

TROUBLE, DUE, DONE, KNOWN = "▲", "○", "✓", "·"
"""What is wrong; what is to be done; what is done; what is good to know."""

SKIPPED, OUT_OF_REACH, HERE = "»", "↑", "›"

KEY = HEADING = "bold $ink"
"""How keys and headings are written where text is marked by a sheet's words (`textual.content.Content`)."""

_BOLD = frozenset({"ember"})


_OF_STATES = {SignState.TROUBLE: (TROUBLE, "ember"), SignState.DUE: (DUE, "honey"), SignState.KNOWN: (KNOWN, "quiet")}


def state_shown(state: SignState) -> tuple[str, str]:
    """Return the mark, and the role of its colour, of what is wrong, of what is only due, of what is only known."""
    return _OF_STATES[state]


def role_of_mark(words: str) -> str:
    """Return the role of the colour of words that begin with the mark of a state; "ink" where they do not."""
    return next((role for mark, role in _OF_STATES.values() if words.startswith(mark)), "ink")


def sign_content(sign: Sign) -> Content:
    """Return a sign as a card has it: its mark and word, and why; trouble bold."""
    mark, role = state_shown(sign.state)
    return Content.styled(f"{mark} {sign.word}: {sign.why}", f"{'bold ' if sign.is_trouble else ''}${role}")


def ink(app: App[Any], role: str, *, bold: bool = False) -> Style:
    """Return the style of a role (`themes.ROLES`) in the theme in use; trouble is always bold."""
    return _style(app.theme_variables[role], bold or role in _BOLD)


def plate(app: App[Any], step: int) -> Style:
    """Return the plate of a step from 1 to 7 of a measure, with the colour a figure on it is written in."""
    made = app.theme_variables
    return _on(made[f"on-heather-{step}"], made[f"heather-{step}"])


def pointer(app: App[Any], *, has_keys: bool = True) -> Style:
    """Return what is laid under the row of the pointer; quieter where the keys go elsewhere (not `has_keys`).

    In two colours it is reversed, where the keys go elsewhere underlined.
    """
    ground = app.theme_variables.get("lift" if has_keys else "board")
    if app.theme == PLAIN.name or ground is None:  # no theme of ours
        return _REVERSED if has_keys else _UNDERLINED
    return _under(ground, has_keys)


def pointed(app: App[Any]) -> Style:
    """Return the style of one cell under the pointer among others on a line, whatever they stand on."""
    if app.theme == PLAIN.name:
        return _REVERSED
    made = app.theme_variables
    return _on(made["soot"], made["ink"]) + _BOLDED


def ground(app: App[Any]) -> Style:
    """Return what everything stands on; cheaper than to ask the style sheet for every line."""
    made = app.theme_variables
    return _on(made["ink"], made["soot"])


def heading(app: App[Any]) -> Style:
    """Return the style of a line that heads others."""
    return ink(app, "ink", bold=True)


_REVERSED, _UNDERLINED, _BOLDED = Style(reverse=True, bold=True), Style(underline=True), Style(bold=True)


@cache
def _style(colour: str, bold: bool) -> Style:
    return Style(color=colour, bold=bold or None)


@cache
def _on(colour: str, ground: str) -> Style:
    return Style(color=colour, bgcolor=ground)


@cache
def _under(ground: str, bold: bool) -> Style:
    return Style(bgcolor=ground, bold=bold or None)
