"""Trials: blends tried by design, what their scores show, and the best blend on its way to the blend desk."""

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from cooperage.blending.trials.hand_over import brief_of_best
from cooperage.blending.trials.kept import trials
from cooperage.blending.trials.planning import keep_trial
from cooperage.blending.trials.pouring import pour_trial, pour_words
from cooperage.blending.trials.precision import TrialPlan
from cooperage.blending.trials.results import TrialResults, trial_results
from cooperage.blending.trials.trial import Trial, TrialState
from cooperage.blending.trials.words import plan_words, trial_words
from cooperage.book import Cellar
from cooperage.errors import CooperageError
from cooperage.tasting.flights import Flight
from cooperage.tui.keys import bound, pressed
from cooperage.tui.on_screen import said
from cooperage.tui.shared.cellar_screen import CellarScreen
from cooperage.tui.shared.dialogs import Confirm, Shown
from cooperage.tui.shared.line_list import LineList
from cooperage.tui.shared.wrapped import Wrapped
from cooperage.tui.trials.new_trial import TrialForm
from cooperage.tui.trials.words import NONE_YET, about_trial, list_head, shown_results, trial_line


class TrialsScreen(CellarScreen):
    """Trials, the newest first; below, the bench sheet of one that is to be poured, or what its scores show."""

    NAME = "trials"
    CSS_PATH = "screen.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("pour", "pour"),
        bound("edit", "to_blend_desk", "brief"),
        bound("new", "plan_trial", "new trial"),
        bound("next", "app.focus_next", "next list", show=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._trials: list[Trial] = []
        self._results: dict[str, TrialResults | CooperageError] = {}

    def compose_body(self) -> ComposeResult:
        """The trials, and the one under the cursor."""
        yield Static(list_head(), id="trials-head", markup=False)
        yield LineList(id="trials")
        yield Wrapped(id="about")

    def on_mount(self) -> None:
        """Begin on the trials."""
        self.set_focus(self._list)

    @property
    def _list(self) -> LineList:
        return self.query_one("#trials", LineList)

    @property
    def current(self) -> Trial | None:
        """The trial under the cursor."""
        at = self._list.cursor
        return self._trials[at] if at < len(self._trials) else None

    def show_cellar(self, cellar: Cellar) -> None:  # noqa: ARG002 - as screens are given it
        """Read the trials again: a flight of one may have been revealed."""
        self._read()

    def _read(self) -> None:
        self.run_slow_work("trials", lambda: trials(self.desk.book), self._take_trials)

    def _take_trials(self, found: list[Trial]) -> None:
        self._trials = found
        self._results.clear()
        cellar = self.desk.cellar
        self._list.set_lines(len(found), lambda at, _width: Text(trial_line(found[at], cellar), no_wrap=True))
        self._show_current()

    def on_line_list_moved(self) -> None:
        """Show the trial that the cursor is on."""
        self._show_current()

    def on_line_list_taken(self) -> None:
        """Read the trial."""
        self.set_focus(self.query_one("#about"))

    def _show_current(self) -> None:
        trial, about = self.current, self.query_one(Wrapped)
        self.refresh_bindings()
        if trial is None:
            about.show_text(NONE_YET)
            return
        lines = about_trial(trial, self.desk.cellar, self.units)
        came = self._results.get(trial.code)
        if isinstance(came, TrialResults):
            about.show_text(*lines, *shown_results(came, self.units))
        elif came is not None:
            about.show_text(*lines, "", said(came, self.units))
        elif trial.revealed:
            about.show_text(*lines, "", "Fitting the scores …")
            self.run_slow_work("fit", lambda: self._fitted(trial), lambda found: self._take_results(trial, found))
        else:
            about.show_text(*lines)

    def _fitted(self, trial: Trial) -> TrialResults | CooperageError:
        try:
            return trial_results(self.desk.book, trial.code, units=self.units)
        except CooperageError as error:
            return error

    def _take_results(self, trial: Trial, found: TrialResults | CooperageError) -> None:
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
            return trial.state is not TrialState.WITHDRAWN and bool(trial.left_to_pour)
        found = self._results.get(trial.code)
        return isinstance(found, TrialResults) and found.best is not None

    def action_plan_trial(self) -> None:
        """Ask for a trial, show its plan, and keep it after a yes."""

        def planned(plan: TrialPlan | None) -> None:
            if plan is not None:
                words = "\n".join((*trial_words(plan.trial, self.units), *plan_words(plan, self.units)))
                self.app.push_screen(
                    Confirm(f"{words}\n\nKeep it?", "keep"), lambda yes: self._keep(plan) if yes else None
                )

        self.app.push_screen(TrialForm(), planned)

    def _keep(self, plan: TrialPlan) -> None:
        def kept(made: Trial) -> None:
            self.show_message(f"Kept as {made.code}. Mix the glasses; {pressed('pour')} pours them.")
            self._read()

        hand = self.desk.hand
        self.desk.attempt(lambda _sure: keep_trial(self.desk.book, plan, hand=hand), kept, self.refuse, rereads=False)

    def action_pour(self) -> None:
        """Pour the next session as a blind flight, after asking."""
        trial = self.current
        if trial is None or not trial.left_to_pour:
            return
        session = trial.left_to_pour[0]
        glasses = len(trial.of_session(session))

        def answered(yes: bool | None) -> None:
            if yes:
                self.desk.attempt(pour, poured, self.refuse)

        def pour(sure: bool) -> tuple[Trial, Flight]:
            return pour_trial(self.desk.book, trial.code, session, hand=self.desk.hand, sure=sure)

        def poured(done: tuple[Trial, Flight]) -> None:
            self._show_poured(done[1])
            self._read()

        question = f"Pour session {session} of {trial.code}: {glasses} glasses as a blind flight?"
        question += "\n\nWhat they take of each vessel is written as a sample."
        self.app.push_screen(Confirm(question, "pour"), answered)

    def _show_poured(self, flight: Flight) -> None:
        """Show the one who pours what goes where, once."""
        lines = [f"{glass.position:>2}  {pour_words(glass)}" for glass in flight.glasses]
        self.app.push_screen(Shown(f"Flight {flight.code}: pour in this order; tasters must not see it", lines))
        self.show_poured(f"Poured as flight {flight.code}: score it on {pressed('panel')}.", flight.code)

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
