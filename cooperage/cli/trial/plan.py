"""`cooperage trial plan`, `list` and `withdraw`: a trial thought over, kept, looked up, given up."""

from pathlib import Path
from typing import Any

import click

from cooperage.blending.trials.trial import DESIGNS
from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import CODES
from cooperage.cli.shared.desk import hand_option, json_option, number, open_book, print_json, print_table, settings
from cooperage.cli.trial.shown import trial_argument, trial_row
from cooperage.units import show_day


@command(
    "plan",
    "cooperage trial plan B-003 B-004 B-006",
    "cooperage trial plan B-003=20-60 B-004 B-006=10-50 --limit abv=12.2-12.8 --limit 'sugar=max 110' --json",
    "cooperage trial plan B-003 B-004 B-006 --question 'how much buckwheat?' --repeats 2 --keep",
)
@click.argument(
    "stocks",
    nargs=-1,
    required=True,
    metavar="STOCK[=BOUNDS]...",
    shell_complete=CODES,
    help="Vessels or lots to blend, with bounds in per cent, as B-003=20-60 or 'B-006=max 50'.",
)
@option("--question", metavar="TEXT", default="", help="What the trial is to answer, in your words.")
@option("--limit", "limits", metavar="FIGURE=LIMIT", multiple=True, help="Limit of every blend, as abv=12.2-12.8.")
@option(
    "--brief",
    type=click.Path(path_type=Path),
    metavar="BRIEF.toml",
    help="Take limits, and bounds of single stocks, from a brief; - for what is piped in.",
)
@option("--design", type=WordChoice(DESIGNS), metavar="DESIGN", help=f"{', '.join(DESIGNS)} (default: what fits).")
@option(
    "--degree",
    type=int,
    metavar="NUMBER",
    default=2,
    show_default=True,
    help="Model: 1 linear, 2 quadratic, 3 special cubic.",
)
@option("--blends", type=int, metavar="NUMBER", help="How many different blends (default: as many as it takes).")
@option(
    "--repeats", type=int, metavar="NUMBER", default=1, show_default=True, help="How often the whole design is poured."
)
@option("--sessions", type=int, metavar="NUMBER", help="Sittings (default: none of more than 8 glasses).")
@option(
    "--ml",
    type=number,
    metavar="ML",
    default=0.0,
    help="Millilitres mixed of each blend (default: 30 a taster).",
)
@option(
    "--step",
    type=number,
    metavar="VOLUME",
    default=1.0,
    show_default=True,
    help="Smallest step of the pipette, in millilitres.",
)
@option("--scale", metavar="LOW-HIGH", default="0-20", show_default=True, help="Lowest and highest score.")
@option("--taster", "tasters", multiple=True, metavar="NAME", help="Who tastes; repeat it for more.")
@option("--keep", is_flag=True, help="Keep the trial; without it nothing is written.")
@hand_option
@json_option
@click.pass_context
def plan_command(
    ctx: click.Context,
    /,
    stocks: tuple[str, ...],
    limits: tuple[str, ...],
    brief: Path | None,
    ml: float,
    step: float,
    keep: bool,
    hand: str | None,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - how it is designed, as `TrialAsked` has it
) -> None:
    """Plan a trial of two to six stocks: the blends, the glasses it takes, and what it will be able to show."""
    from cooperage.blending.trials.planning import TrialAsked, keep_trial, plan_trial
    from cooperage.blending.trials.stocks import asked_of_brief, parse_limits, parse_stock, with_shares
    from cooperage.programme.ageing.aged import cellar_now

    units = settings().units
    asked["design"] = asked["design"] or ""
    given = [parse_stock(text, units) for text in stocks]
    wanted: dict[str, Any] = {}
    if brief is not None:
        wanted, shares = asked_of_brief(_brief(brief))
        given = with_shares(given, shares)
    wanted |= parse_limits(limits, units)
    book = open_book(ctx)
    cellar = cellar_now(book)
    plan = plan_trial(book, cellar, TrialAsked(given, limits=wanted, glass_ml=ml, step_ml=step, **asked), units)
    kept = keep_trial(book, plan, hand=hand or settings().hand) if keep else None
    if as_json:
        print_json(_plan_row(plan) | {"is_kept": keep})
        return
    _print_plan(plan, cellar)
    if kept is not None:
        click.echo(f"Kept as {kept.code}: `cooperage trial sheet {kept.code}` is the bench sheet.")
    else:
        click.echo("Nothing is written yet; repeat with --keep to keep it.")


def _brief(path: Path) -> dict[str, Any]:
    from cooperage.blending.brief.brief import load_brief
    from cooperage.cli.shared.paste import piped_file

    return load_brief(piped_file(path, "brief.toml"))


def _plan_row(plan: Any) -> dict[str, Any]:  # noqa: ANN401 - a TrialPlan
    about = trial_row(plan.trial)
    return about | {
        "terms": plan.terms,
        "blends": plan.blends,
        "blends_beyond_the_model": plan.checks,
        "glasses_repeated": plan.repeated,
        "tasters_counted_on": plan.tasters,
        "score_sd_points": plan.noise,
        "flights_behind_it": plan.flights,
        "usual_half_width_points": plan.usual_band,
        "widest_half_width_points": plan.widest_band,
        "coverage_percent": 90,
        "difference_found_points": plan.shows,
        "chance_found_percent": 80,
        "rounding_strays_percent": round(plan.strays_by_points, 2),
    }


def _print_plan(plan: Any, cellar: Any) -> None:  # noqa: ANN401 - a TrialPlan, a Cellar
    from cooperage.blending.trials.sheet import rounding_words, sheet_cells, sheet_head, total_words, trial_sheet
    from cooperage.blending.trials.words import plan_words, trial_words

    units, sheet = settings().units, trial_sheet(plan.trial, cellar)
    for line in trial_words(plan.trial, units):
        click.echo(line)
    head = sheet_head(sheet)
    print_table(head, sheet_cells(sheet, units), right=range(1, len(head)))
    for line in (rounding_words(sheet, units), *total_words(sheet, units), *plan_words(plan, units)):
        click.echo(line)


@command("list", "cooperage trial list", "cooperage trial list --json")
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_json: bool) -> None:
    """List the trials, newest first, and where each stands."""
    from cooperage.blending.trials.kept import trials
    from cooperage.blending.trials.words import NONE_YET

    found = trials(open_book(ctx))
    if as_json:
        print_json([trial_row(each) for each in found])
        return
    rows = [
        (
            each.code,
            show_day(each.written_at),
            ", ".join(each.names),
            str(len(each.glasses)),
            each.state_words,
            each.question,
        )
        for each in found
    ]
    print_table(("trial", "planned", "stocks", "glasses", "state", "question"), rows, right=(3,), empty=NONE_YET)


@command(
    "withdraw",
    "cooperage trial withdraw TR-2 --why 'B-003 is to be bottled'",
    "cooperage trial plan B-003 B-004 --keep && cooperage trial withdraw TR-3 --why 'too few tasters' --json",
)
@trial_argument
@option("--why", metavar="TEXT", required=True, help="The reason, kept with it.")
@hand_option
@json_option
@click.pass_context
def withdraw_command(ctx: click.Context, code: str, why: str, hand: str | None, as_json: bool) -> None:
    """Withdraw a trial; it stays in the list with the reason, and what was poured stays as it is."""
    from cooperage.blending.trials.kept import withdraw_trial

    found = withdraw_trial(open_book(ctx), code, why, hand=hand or settings().hand)
    if as_json:
        print_json(trial_row(found))
    else:
        click.echo(f"{found.code} is {found.state_words}")


COMMANDS = (plan_command, list_command, withdraw_command)
