"""A trial as scripts read it: blends by number, never by the code of a glass."""

from typing import Any

import click

from cooperage.blending.trials.trial import DEGREES, Trial, TrialGlass
from cooperage.cli.shared.complete import TRIALS

trial_argument = click.argument("code", metavar="TRIAL", shell_complete=TRIALS, help="Code of the trial, as TR-1.")


def trial_row(trial: Trial) -> dict[str, Any]:
    """Return a trial as scripts read it."""
    return {
        "code": trial.code,
        "question": trial.question,
        "state": trial.state,
        "stocks": [
            {
                "stock": each.name,
                "vessels": each.vessels,
                "min_percent": 100 * each.low,
                "max_percent": 100 * each.high,
                "figures": dict(each.figures),
            }
            for each in trial.stocks
        ],
        "limits": dict(trial.limits),
        "design": trial.design,
        "model": DEGREES[trial.degree],
        "step_ml": trial.step_ml,
        "scale": trial.scale,
        "tasters": trial.tasters,
        "sessions": [
            {"session": number, "flight": trial.flights.get(number), "is_revealed": number in trial.revealed}
            for number in trial.sessions
        ],
        "glasses": [glass_row(trial, each) for each in trial.glasses],
        "written": trial.written_at,
        "hand": trial.hand,
        "withdrawn": trial.withdrawn,
    }


def glass_row(trial: Trial, glass: TrialGlass) -> dict[str, Any]:
    """Return a glass of a design as scripts read it."""
    return {
        "glass": trial.glass_name(glass),
        "session": glass.session,
        "planned_percent": by_stock(trial, [100 * share for share in glass.planned]),
        "parts_ml": by_stock(trial, glass.ml),
        "poured_percent": by_stock(trial, [100 * share for share in glass.shares]),
    }


def by_stock(trial: Trial, figures: Any) -> dict[str, float]:  # noqa: ANN401 - any row of numbers
    """Return a figure of each stock by its name."""
    return {name: float(figure) for name, figure in zip(trial.names, figures, strict=True)}
