"""Runs and risks in lines as their screens have them."""

from collections.abc import Callable, Mapping
from datetime import datetime

from rich.style import Style
from rich.text import Text

from cooperage.programme.bottling.shown import RunShown, about_run
from cooperage.programme.bottling.words import filled_words
from cooperage.programme.bottling_risks.risk import CAUTION, Risk, RiskState, risk_words, to_mind
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.on_screen import on_screen
from cooperage.tui.shared.ink import DONE, DUE, TROUBLE
from cooperage.units import Units, show_date

NONE_YET = "No bottling run yet. Its risks come first, then each line is written at once."
RUNS = ListedColumns(("  run", "state", "opened", "vessels", "filled"), ((2, 0), (3, 8), (4, 14)))
"""The list of runs."""
_MARKS = {RiskState.TROUBLE: (TROUBLE, "ember"), RiskState.DUE: (DUE, "honey"), RiskState.FINE: (DONE, "ink")}
_NAME, _FIGURE = 19, 11


def _marked(shown: RunShown) -> tuple[str, str]:
    """Return the mark of a run and its role: a fill that is wrong is trouble as long as the run is open."""
    if not shown.run.is_open:
        return DONE, "rain"
    return (TROUBLE, "ember") if shown.wrong else (DUE, "honey")


def run_cells(shown: RunShown, now: datetime) -> Row:
    """Return a run as a row of `RUNS`."""
    run = shown.run
    opened = show_date(run.opened_at, now).strip()
    state = "open" if run.is_open else "closed"
    return f"{_marked(shown)[0]} {run.code}", state, opened, ", ".join(run.vessels), filled_words(run)


def run_ink(shown: RunShown, text: Text, inked: Callable[[str], Style]) -> Text:
    """Colour the mark of a run's line."""
    text.stylize(inked(_marked(shown)[1]), 0, 1)
    return text


def run_texts(shown: RunShown, units: Units, inked: Callable[[str], Style]) -> list[Text]:
    """Return all of a run in lines; what is wrong with its fill has the mark of trouble."""
    return [
        Text(f"{TROUBLE} {on_screen(line)}", inked("ember")) if line in shown.wrong else Text(on_screen(line))
        for line in about_run(shown, units)
    ]


def risk_line(risk: Risk, reason: str, width: int, units: Units, inked: Callable[[str], Style]) -> Text:
    """Return a risk in one line: mark, name, figure, then the reason it is passed with, or why it stands."""
    mark, role = _MARKS[RiskState.FINE if reason else risk.state]
    line = Text(no_wrap=True).append(f"{mark} {risk.name:<{_NAME}}", inked(role))
    line.append(f"{risk.figure(units):>{_FIGURE}}  ")
    chance = f"; {risk.chance_words} on the wrong side" if risk.chance_words else ""
    line.append(f"passed: {reason}" if reason else f"{risk.why}{chance}")
    line.truncate(width, overflow="ellipsis")
    return line


def about_risk(risk: Risk, found: list[Risk], units: Units) -> list[str]:
    """Return one risk in full, the caution right after it, and what the list is not."""
    minded = to_mind(found)
    lines = [f"{risk.name}: {risk_words(risk, units)}", *(f"Caution: {words}" for words in minded if words == CAUTION)]
    if risk.settled_by and risk.state is not RiskState.FINE:
        lines.append(f"Settled by: {on_screen(risk.settled_by)}")
    if risk.source:
        lines.append(f"By: {risk.source}")
    return [*lines, *(words for words in minded if words != CAUTION)]


def risks_title(code: str, vessels: tuple[str, ...], found: list[Risk], reasons: Mapping[str, str]) -> str:
    """Return what the list is of, and how many risks stand how."""
    count = {state: sum(_state(each, reasons) is state for each in found) for state in RiskState}
    counts = "  ".join(f"{_MARKS[state][0]} {number}" for state, number in count.items())
    return f"Before the first bottle   {code} from {', '.join(vessels)}   {counts}"


def _state(risk: Risk, reasons: Mapping[str, str]) -> RiskState:
    return RiskState.FINE if risk.name in reasons else risk.state
