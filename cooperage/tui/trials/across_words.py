"""A trial across barrels as its screen has it: a line in the list, what it is, what it could find, what it found."""

from collections.abc import Iterator
from datetime import date

from cooperage.book import Cellar
from cooperage.programme.compared.brief import state_words
from cooperage.programme.compared.outcome import TrialOutcome
from cooperage.programme.compared.planning import PlannedTrial
from cooperage.programme.compared.trial import BarrelTrial
from cooperage.programme.compared.words import (
    BARRELS_HEAD,
    MEANS_HEAD,
    NO_TRIALS,
    SITTINGS_HEAD,
    barrels_cells,
    design_words,
    means_cells,
    measure_words,
    outcome_lines,
    power_lines,
    sittings_cells,
    spread_words,
    stated_words,
    treatment_lines,
)
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.keys import pressed
from cooperage.tui.on_screen import on_screen
from cooperage.tui.trials.words import table_lines
from cooperage.units import Units, local_day

COLUMNS = ListedColumns(("trial", "state", "barrels", "treatments"), ((3, 10), (1, 12)), frozenset((2,)))
"""The list of trials across barrels."""
NONE_YET = on_screen(NO_TRIALS)


def barrel_trial_cells(trial: BarrelTrial, cellar: Cellar) -> Row:
    """Return a trial as a row of `COLUMNS`."""
    treatments = ", ".join(each.name for each in trial.treatments)
    blind = [each.flight for each in trial.poured if each.is_blind]
    state = f"blind: {', '.join(blind)}" if blind else state_words(trial, local_day(cellar.at))
    return trial.code, state, str(len(trial.barrels)), treatments


def about_barrel_trial(trial: BarrelTrial, today: date) -> list[str]:
    """Return what a trial is and what is next."""
    return [f"{trial.code}  {trial.question}  ({measure_words(trial)})", next_step(trial, today)]


def details_of(trial: BarrelTrial, units: Units) -> list[str]:
    """Return treatments and sittings, how a trial is laid out, and what was stated before it began."""
    rows = [
        (number, day, *((flight,) if trial.poured else ()), barrels)
        for number, day, barrels, flight in (SITTINGS_HEAD, *sittings_cells(trial))
    ]
    return [
        "",
        *treatment_lines(trial),
        "",
        *(
            f"  {line}" for line in table_lines(rows[0], rows[1:], left=range(len(rows[0])))
        ),  # set in, so that barrels hang
        "",
        design_words(trial),
        spread_words(trial, trial.stated.spread, units),
        stated_words(trial, units),
    ]


def next_step(trial: BarrelTrial, today: date) -> str:
    """Return what is to be done next, by its key."""
    if trial.withdrawn is not None:
        return f"Withdrawn: {trial.withdrawn.why}"
    if blind := [each.flight for each in trial.poured if each.is_blind]:
        return f"Next: {pressed('panel')} takes the scores of {', '.join(blind)}; reveal it once all have scored."
    if trial.to_pour:
        sitting = trial.sittings[trial.to_pour[0] - 1]
        when = "now" if sitting.day <= today else f"on {sitting.day.isoformat()}"
        return f"Next: {pressed('pour')} pours flight {trial.to_pour[0]} of {len(trial.sittings)} blind, {when}."
    return f"State: {state_words(trial, today)}."


def plan_shown(planned: PlannedTrial, units: Units) -> Iterator[str]:
    """Yield what a planned trial could find, before it is kept: no barrel's treatment."""
    yield f"{planned.trial.code}  {planned.trial.question}  ({measure_words(planned.trial)})"
    yield design_words(planned.trial)
    yield from power_lines(planned, units)
    yield ""
    yield from table_lines(BARRELS_HEAD, barrels_cells(planned, units), left=())


def results_shown(found: TrialOutcome, units: Units) -> list[str]:
    """Return the answer of a trial so far: the sentences first, then the means with their intervals."""
    return ["", *outcome_lines(found, units), "", *table_lines(MEANS_HEAD, means_cells(found, units))]
