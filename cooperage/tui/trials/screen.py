"""Trials of blends and trials across barrels, side by side: what is planned, poured and scored, and what was found."""

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.blending.trials.hand_over import brief_of_best
from cooperage.blending.trials.results import TrialResults
from cooperage.book import Cellar
from cooperage.errors import CooperageError
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.line_list import ColumnList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.tui.trials.across import BarrelTrialSide
from cooperage.tui.trials.blends import BlendTrialSide
from cooperage.tui.trials.side import TrialSide


class TrialsScreen(CellarScreen):
    """Trials of one kind, the newest first; below, what the one under the cursor is, what is next, what it found."""

    NAME = "trials"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("pour", "pour"),
        bound("edit", "to_blend_desk", "brief"),
        bound("new", "plan_trial", "new trial"),
        bound("view", "turn_side", "next side"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._sides: tuple[TrialSide[Any, Any], ...] = (BlendTrialSide(self), BarrelTrialSide(self))
        self._side_at = 0
        self._trials: list[Any] = []
        self._results: dict[str, Any] = {}

    def compose_body(self) -> ComposeResult:
        """Which trials there are, and the one under the cursor."""
        yield Static("", id="trials-side", markup=False)
        yield Static("", id="trials-head", markup=False)
        yield ColumnList("#trials-head", id="trials")
        yield Wrapped(id="about")

    def on_mount(self) -> None:
        """Begin on the trials."""
        self._show_heads()
        self.set_focus(self._list)

    @property
    def _list(self) -> ColumnList:
        return self.query_one("#trials", ColumnList)

    @property
    def side(self) -> TrialSide[Any, Any]:
        """The kind of trials that is listed."""
        return self._sides[self._side_at]

    @property
    def current(self) -> Any:  # noqa: ANN401 - a trial of the side's kind
        """The trial under the cursor; None where there is none."""
        at = self._list.cursor
        return self._trials[at] if at < len(self._trials) else None

    def _show_heads(self) -> None:
        other = self._sides[1 - self._side_at].CALLED
        title = f"{self.side.CALLED.capitalize()}   {pressed('view')} shows {other}"
        self.query_one("#trials-side", Static).update(title, layout=False)

    def on_screen_resume(self) -> None:
        """Go to the trial that was asked for elsewhere."""
        super().on_screen_resume()
        self.action_go_to_wanted()

    def action_go_to_wanted(self) -> None:
        """Read the trials again, and stand at the one that is wanted."""
        if self.desk.code:
            self._read()

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Read the trials again: a flight of one may have been revealed."""
        self._read()

    def _read(self) -> None:
        at = self._side_at
        wanted = self.desk.code
        self.run_slow_work(
            "trials", lambda: [side.read() for side in self._sides], lambda found: self._take_trials(found, at, wanted)
        )

    def _take_trials(self, found: list[list[Any]], at: int, wanted: str) -> None:
        at = next((nth for nth, each in enumerate(found) if wanted in self._codes(nth, each)), at)
        self._side_at, self._trials = at, found[at]
        self._results.clear()
        self._show_heads()
        trials, side = self._trials, self.side
        self._list.set_rows(side.COLUMNS, map(side.cells, trials))
        codes = self._codes(at, trials)
        if wanted and wanted in codes:
            self._list.cursor, self.desk.code = codes.index(wanted), ""
        self._show_current()

    def _codes(self, nth: int, trials: list[Any]) -> list[str]:
        return [self._sides[nth].code_of(each) for each in trials]

    def on_line_list_moved(self) -> None:
        """Show the trial that the cursor is on."""
        self._show_current()

    def on_line_list_taken(self) -> None:
        """Read the trial."""
        self.set_focus(self.query_one("#about"))

    def _show_current(self) -> None:
        trial, about, side = self.current, self.query_one(Wrapped), self.side
        self.refresh_bindings()
        if trial is None:
            about.show_text(side.NONE_YET)
            return
        lines, below = side.about(trial), side.details(trial)
        came = self._results.get(side.code_of(trial))
        if isinstance(came, CooperageError):
            about.show_text(*lines, "", said(came, self.units), *below)
        elif came is not None:
            about.show_text(*lines, *side.shown_results(came), *below)
        elif side.has_results(trial):
            about.show_text(*lines, "", "Working the answer out …", *below)
            self.run_slow_work(
                "fit", lambda: side.results_or_why_not(trial), lambda found: self._take_results(trial, found)
            )
        else:
            about.show_text(*lines, *below)

    def _take_results(self, trial: Any, found: object) -> None:  # noqa: ANN401 - a trial of the side's kind
        self._results[trial.code] = found
        if self.current is not None and self.current.code == trial.code:
            self._show_current()

    # --- keys -------------------------------------------------------------------------------------------------------

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - Textual's
        """Pour what is not poured yet; hand over what is fitted."""
        if action not in ("pour", "to_blend_desk"):
            return True
        trial = self.current if self.is_mounted else None
        if trial is None:
            return False
        if action == "pour":
            return self.side.can_pour(trial)
        found = self._results.get(self.side.code_of(trial))
        return isinstance(found, TrialResults) and found.best is not None

    def action_turn_side(self) -> None:
        """List the trials of the other kind."""
        self._side_at = 1 - self._side_at
        self._trials = []
        self._show_heads()
        self._read()
        self.set_focus(self._list)

    def action_plan_trial(self) -> None:
        """Ask for a trial of this kind, show its plan, and keep it after a yes."""
        self.side.plan()

    def action_pour(self) -> None:
        """Pour the next flight of the trial, after asking."""
        if self.current is not None and self.side.can_pour(self.current):
            self.side.pour(self.current)

    def action_to_blend_desk(self) -> None:
        """Take the best blend to the blend desk, as a brief."""
        found = self._results.get(self.current.code) if self.current is not None else None
        if not isinstance(found, TrialResults):
            return
        try:
            self.desk.brief = brief_of_best(found, self.desk.cellar)
        except CooperageError as error:
            self.refuse(error)
            return
        self.app.switch_mode("blend")
