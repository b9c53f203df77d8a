"""Trials of blends: planned by design, poured, fitted, and the best blend handed to the blend desk."""

from collections.abc import Sequence

from cooperage.blending.trials.kept import trials
from cooperage.blending.trials.planning import keep_trial
from cooperage.blending.trials.pouring import pour_trial, pour_words
from cooperage.blending.trials.precision import TrialPlan
from cooperage.blending.trials.results import TrialResults, trial_results
from cooperage.blending.trials.trial import Trial, TrialState
from cooperage.blending.trials.words import plan_words, trial_words
from cooperage.tasting.flights import Flight
from cooperage.tui.columns import Row
from cooperage.tui.keys import pressed
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.trials.new_trial import TrialForm
from cooperage.tui.trials.side import TrialSide
from cooperage.tui.trials.words import COLUMNS, NONE_YET, about_trial, shown_results, trial_cells


class BlendTrialSide(TrialSide[Trial, TrialResults]):
    """The trials of blends."""

    CALLED = "trials of blends"
    NONE_YET = NONE_YET
    COLUMNS = COLUMNS

    def read(self) -> list[Trial]:
        """Read the trials, newest first."""
        return trials(self.screen.desk.book)

    def cells(self, trial: Trial) -> Row:
        """Return a trial as a row of `COLUMNS`."""
        return trial_cells(trial, self.screen.desk.cellar)

    def code_of(self, trial: Trial) -> str:
        """Return a trial's code."""
        return trial.code

    def about(self, trial: Trial) -> list[str]:
        """Return what a trial is and what is next, with its bench sheet while something is to be poured."""
        return about_trial(trial, self.screen.desk.cellar, self.screen.units)

    def has_results(self, trial: Trial) -> bool:
        """Return True once a flight of it is revealed."""
        return bool(trial.revealed)

    def results(self, trial: Trial) -> TrialResults:
        """Fit the scores."""
        return trial_results(self.screen.desk.book, trial.code, units=self.screen.units)

    def shown_results(self, found: TrialResults) -> Sequence[str]:
        """Return what the scores show as lines."""
        return shown_results(found, self.screen.units)

    def can_pour(self, trial: Trial) -> bool:
        """Return True where a session of it is to be poured."""
        return trial.state is not TrialState.WITHDRAWN and bool(trial.left_to_pour)

    def plan(self) -> None:
        """Ask for a trial, show its plan, and keep it after a yes."""
        app, units = self.screen.app, self.screen.units

        def planned(plan: TrialPlan | None) -> None:
            if plan is not None:
                words = "\n".join((*trial_words(plan.trial, units), *plan_words(plan, units)))
                app.push_screen(Confirm(f"{words}\n\nKeep it?", "keep"), lambda yes: self._keep(plan) if yes else None)

        app.push_screen(TrialForm(), planned)

    def _keep(self, plan: TrialPlan) -> None:
        desk = self.screen.desk
        desk.attempt(
            lambda _sure: keep_trial(desk.book, plan, hand=desk.hand),
            lambda made: self.show_kept(f"Kept as {made.code}. Mix the glasses; {pressed('pour')} pours them."),
            self.screen.refuse,
            rereads=False,
        )

    def pour(self, trial: Trial) -> None:
        """Pour the next session as a blind flight, after asking."""
        desk, session = self.screen.desk, trial.left_to_pour[0]
        glasses = len(trial.of_session(session))

        def answered(yes: bool | None) -> None:
            if yes:
                desk.attempt(pour, poured, self.screen.refuse)

        def pour(sure: bool) -> tuple[Trial, Flight]:
            return pour_trial(desk.book, trial.code, session, hand=desk.hand, sure=sure)

        def poured(done: tuple[Trial, Flight]) -> None:
            flight = done[1]
            self.show_poured(flight, [f"{glass.position:>2}  {pour_words(glass)}" for glass in flight.glasses])

        question = f"Pour session {session} of {trial.code}: {glasses} glasses as a blind flight?"
        question += "\n\nWhat they take of each vessel is written as a sample."
        self.screen.app.push_screen(Confirm(question, "pour"), answered)
