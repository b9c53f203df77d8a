"""Trials across barrels: treatments of one lot compared barrel by barrel, poured flight by flight, answered."""

from collections.abc import Sequence

from cooperage.programme.compared.kept import barrel_trials, keep_trial
from cooperage.programme.compared.outcome import TrialOutcome, trial_outcome
from cooperage.programme.compared.planning import PlannedTrial
from cooperage.programme.compared.pouring import pour_sitting
from cooperage.programme.compared.trial import BarrelTrial
from cooperage.tasting.flights import Flight
from cooperage.tasting.pulling import last_pull, pull_words
from cooperage.tui.columns import Row
from cooperage.tui.forms.poured import pour_lines
from cooperage.tui.keys import pressed
from cooperage.tui.shared.dialogs import Confirm
from cooperage.tui.trials.across_words import (
    COLUMNS,
    NONE_YET,
    about_barrel_trial,
    barrel_trial_cells,
    details_of,
    plan_shown,
    results_shown,
)
from cooperage.tui.trials.new_barrel_trial import BarrelTrialForm
from cooperage.tui.trials.side import TrialSide
from cooperage.units import counted, local_day


class BarrelTrialSide(TrialSide[BarrelTrial, TrialOutcome]):
    """The trials across barrels."""

    CALLED = "trials across barrels"
    NONE_YET = NONE_YET
    COLUMNS = COLUMNS

    def read(self) -> list[BarrelTrial]:
        """Read the trials, newest first."""
        return barrel_trials(self.screen.desk.book)

    def cells(self, trial: BarrelTrial) -> Row:
        """Return a trial as a row of `COLUMNS`."""
        return barrel_trial_cells(trial, self.screen.desk.cellar)

    def code_of(self, trial: BarrelTrial) -> str:
        """Return a trial's code."""
        return trial.code

    def about(self, trial: BarrelTrial) -> list[str]:
        """Return what a trial is and what is next."""
        return about_barrel_trial(trial, local_day(self.screen.desk.book.now()))

    def details(self, trial: BarrelTrial) -> list[str]:
        """Return its treatments, its sittings, how it is laid out and what was stated beforehand."""
        return details_of(trial, self.screen.units)

    def has_results(self, trial: BarrelTrial) -> bool:
        """Return True once a flight is revealed; of one that is read, always: then readings may be there."""
        return not trial.is_tasted or any(not each.is_blind for each in trial.poured)

    def results(self, trial: BarrelTrial) -> TrialOutcome:
        """Work the answer out."""
        return trial_outcome(self.screen.desk.book, trial.code)

    def shown_results(self, found: TrialOutcome) -> Sequence[str]:
        """Return the answer as lines."""
        return results_shown(found, self.screen.units)

    def can_pour(self, trial: BarrelTrial) -> bool:
        """Return True where a planned flight was not poured yet."""
        return bool(trial.to_pour)

    def plan(self) -> None:
        """Ask for a trial, show what it could find, and keep it after a yes."""
        app = self.screen.app

        def planned(plan: PlannedTrial | None) -> None:
            if plan is not None:
                words = "\n".join(plan_shown(plan, self.screen.units))
                kept = "Kept, it stands from now on. Keep it?"
                app.push_screen(Confirm(f"{words}\n\n{kept}", "keep"), lambda yes: self._keep(plan) if yes else None)

        app.push_screen(BarrelTrialForm(), planned)

    def _keep(self, plan: PlannedTrial) -> None:
        desk = self.screen.desk

        def kept(made: BarrelTrial) -> None:
            then = f" {pressed('pour')} pours its flight." if made.to_pour else ""
            self.show_kept(f"Kept as {made.code}.{then}")

        desk.attempt(lambda _sure: keep_trial(desk.book, plan.trial), kept, self.screen.refuse)

    def pour(self, trial: BarrelTrial) -> None:
        """Pour the next planned flight blind, after asking."""
        desk, sitting = self.screen.desk, trial.to_pour[0]
        each_ml = last_pull(desk.book, desk.hand)

        def answered(yes: bool | None) -> None:
            if yes:
                desk.attempt(pour, poured, self.screen.refuse)

        def pour(sure: bool) -> tuple[BarrelTrial, int, Flight]:
            return pour_sitting(desk.book, trial.code, each_ml, hand=desk.hand, sure=sure)

        def poured(done: tuple[BarrelTrial, int, Flight]) -> None:
            self.show_poured(done[2], pour_lines(done[2]))

        glasses = counted(len(trial.at_sitting(sitting)), "glass", "glasses")
        question = f"Pour flight {sitting} of {len(trial.sittings)} of {trial.code}: {glasses}, blind?"
        pulled = f"{pull_words(each_ml)} of each barrel is written as a sample."
        self.screen.app.push_screen(Confirm(f"{question}\n\n{pulled}", "pour"), answered)
