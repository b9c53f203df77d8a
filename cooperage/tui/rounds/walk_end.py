"""The end of a walk: its summary, before it is ended."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from cooperage.programme.walk.part_of_walk import TASK_WORDS
from cooperage.programme.walk.stops import Stop
from cooperage.programme.walk.summary import WalkSummary
from cooperage.tui.keys import bound
from cooperage.tui.shared.bars import KeyBar
from cooperage.units import Quantity, Units, show


class WalkEnd(ModalScreen[bool]):
    """Volume by keg, stops not done, warnings; True when the walk ends here."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("yes", "end_walk", "end the walk"),
        bound("no", "walk_on", "walk on"),
        bound("back", "walk_on", "walk on", show=False),
    ]

    def __init__(self, summary: WalkSummary, units: Units) -> None:
        super().__init__(classes="dialog")
        self._summary, self._units = summary, units

    def compose(self) -> ComposeResult:
        """Show the summary."""
        with Vertical(classes="box"):
            yield Static("The walk so far", classes="title")
            with VerticalScroll(id="summary"):
                yield Static("\n".join(summary_lines(self._summary, self._units)), markup=False)
            yield KeyBar()

    def action_end_walk(self) -> None:
        """End the walk."""
        self.dismiss(True)

    def action_walk_on(self) -> None:
        """Leave the walk open."""
        self.dismiss(False)


def summary_lines(summary: WalkSummary, units: Units) -> list[str]:
    """Return a walk line by line."""
    lines = [f"Toppings: {summary.toppings}. Stops done: {len(summary.states.get('done', []))}."]
    lines += [f"  {keg:<8} {show(Quantity.VOLUME, ml, units):>9} drawn" for keg, ml in sorted(summary.by_keg.items())]
    lines += [f"  {keg:<8} short by {show(Quantity.VOLUME, ml, units)}" for keg, ml in sorted(summary.short.items())]
    for state, title in (("", "Not reached"), ("skipped", "Skipped"), ("out of reach", "Out of reach")):
        if stops := summary.states.get(state):
            lines += ["", f"{title}: {len(stops)}", *(f"  {_stop(stop)}" for stop in stops)]
    if summary.flagged:
        lines += [
            "",
            "Warnings",
            *(f"  {sign.vessel:<8} {sign.word}: {sign.why}" for sign in summary.flagged),
        ]
    return lines


def _stop(stop: Stop) -> str:
    return f"{stop.tag:<8} {_tasks(stop)}"


def _tasks(stop: Stop) -> str:
    """Return the tasks that were not done, each with its reason; of a stop that was begun, those that are left."""
    left = [each for each in stop.tasks if each.state != "done"]
    return "; ".join(f"{TASK_WORDS[each.task]} {each.why}".rstrip() for each in left)
