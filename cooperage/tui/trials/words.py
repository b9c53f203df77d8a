"""A trial as its screen has it: a line in the list, what it tries, its sheet, what its scores show, what is next."""

from collections.abc import Iterator, Sequence

from cooperage.blending.trials.result_words import RESULT_HEAD, best_words, fit_words, result_rows
from cooperage.blending.trials.results import TrialResults
from cooperage.blending.trials.sheet import lot_words, rounding_words, sheet_cells, sheet_head, total_words, trial_sheet
from cooperage.blending.trials.trial import Trial, TrialState
from cooperage.blending.trials.triangle import plot_lines
from cooperage.blending.trials.words import trial_words
from cooperage.book import Cellar
from cooperage.tui.columns import ListedColumns, Row
from cooperage.tui.keys import pressed
from cooperage.units import Units, show_date

COLUMNS = ListedColumns(("trial", "planned", "state", "stocks"), ((3, 10), (2, 12), (1, 0)))
"""The list of trials of blends."""
NONE_YET = f"No trial yet. {pressed('new')} plans one."


def trial_cells(trial: Trial, cellar: Cellar) -> Row:
    """Return a trial as a row of `COLUMNS`."""
    planned = show_date(trial.written_at, cellar.at).strip()
    return trial.code, planned, trial.state_in_short, ", ".join(trial.names)


def about_trial(trial: Trial, cellar: Cellar, units: Units) -> list[str]:
    """Return what a trial is and what is next; with its bench sheet while something is to be poured."""
    lines = [*trial_words(trial, units), next_step(trial)]
    if trial.withdrawn is None and trial.left_to_pour:
        sheet = trial_sheet(trial, cellar)
        lines += ["", *lot_words(trial.stocks), *table_lines(sheet_head(sheet), sheet_cells(sheet, units))]
        lines += [rounding_words(sheet, units), *total_words(sheet, units)]
    return lines


def next_step(trial: Trial) -> str:
    """Return what is to be done next, by its key."""
    if trial.withdrawn is not None:
        return f"Withdrawn: {trial.withdrawn.why}"
    if trial.left_to_pour:
        session = f"session {trial.left_to_pour[0]}" if len(trial.sessions) > 1 else "it"
        return f"Next: mix the glasses, then {pressed('pour')} pours {session} as a blind flight."
    if trial.state is TrialState.SCORED:
        return f"{pressed('edit')} hands the best blend to the blend desk."
    blind = [code for session, code in trial.flights.items() if session not in trial.revealed]
    return f"Next: {pressed('panel')} takes the scores of {', '.join(blind)}; reveal it once all have scored."


def shown_results(found: TrialResults, units: Units) -> list[str]:
    """Return what the scores of a trial show: the best blend, the plot, the fit, and each blend."""
    head, *rows = table_lines(RESULT_HEAD, result_rows(found, units))
    return ["", *best_words(found, units), "", *plot_lines(found, units), "", *fit_words(found, units), "", head, *rows]


def table_lines(head: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int] = (0,)) -> Iterator[str]:
    """Yield a heading and rows in aligned columns: those at `left` to the left, the others to the right."""
    widths = [max(len(row[at]) for row in (head, *rows)) for at in range(len(head))]
    for row in (head, *rows):
        sized = enumerate(zip(row, widths, strict=True))
        cells = [cell.ljust(width) if at in left else cell.rjust(width) for at, (cell, width) in sized]
        yield "  ".join(cells).rstrip()
