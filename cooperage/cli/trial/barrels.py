"""`cooperage trial barrels`: a lot split over treatments, barrel by barrel: planned, poured for, answered."""

from textwrap import fill
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import BARREL_TRIALS, TAG_LISTS
from cooperage.cli.shared.desk import (
    BadCall,
    hand_option,
    json_option,
    number,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.cli.shared.digits import four_digits
from cooperage.cli.taste.shown import pull_of, pull_option
from cooperage.cli.trial.barrels_rows import barrel_trial_row, outcome_row, power_row
from cooperage.units import local_day, read_day

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cooperage.programme.compared.planning import AskedOfTrial, PlannedTrial
    from cooperage.programme.compared.trial import BarrelTrial

_COLUMNS = 76
_trial = click.argument(
    "code", metavar="TRIAL", shell_complete=BARREL_TRIALS, help="Code of the trial, as `list` shows it."
)
_PLANNED = (
    "cooperage trial barrels plan 'does topping monthly keep it fresher?' --barrels 'lot QU-25' "
    "--treatment weekly --treatment monthly --trial TOPPING --keep"
)

barrels_group = CommandGroup(
    "barrels",
    help="Compare treatments of one lot, barrel by barrel: plan it, pour its flights, and see what was found.",
    examples=(f"{_PLANNED} && cooperage trial barrels show TOPPING",),
)


@barrels_group.command(
    "plan",
    examples=(
        "cooperage trial barrels plan 'does topping monthly keep it fresher?' --barrels 'lot QU-25' "
        "--treatment weekly='topped every 7 days' --treatment monthly --block room --least-difference 1.5",
        "cooperage trial barrels plan 'does the room matter?' --barrels 'lot QU-25' --compare room --json",
        f"{_PLANNED} --day tomorrow --taster Iko --taster Tove",
    ),
)
@click.argument("question", help="What the trial is to find out, in a sentence.")
@option(
    "--barrels",
    metavar="TAGS",
    required=True,
    shell_complete=TAG_LISTS,
    help="Tags, a series such as B-001..B-008, or words that filter racks.",
)
@option(
    "--treatment",
    "treatments",
    metavar="NAME[=WORDS]",
    multiple=True,
    help="A treatment to be drawn at random for barrels, with what is done; repeat it for each.",
)
@option(
    "--compare",
    "by",
    metavar="WORD",
    default="",
    help="Treatments are what barrels are already, not drawn: room, wood, toast, size, fills.",
)
@option("--give", "given", metavar="TAG=NAME", multiple=True, help="The treatment of one barrel, where none is drawn.")
@option(
    "--block",
    "block_by",
    metavar="WORD",
    multiple=True,
    help="Barrels alike in this are compared: row, room, tier, past, fills, year, size, wood, toast, cooper, lot.",
)
@option(
    "--measure", default="overall", show_default=True, help="Overall, an attribute such as oak, or a reading as va."
)
@option("--scale", metavar="LOW-HIGH", default="", help="Scale of the scores (default: the attribute's, or the last).")
@option("--day", "days", metavar="DAY", multiple=True, help="When all barrels are tasted or read; repeat it for more.")
@option("--taster", "tasters", metavar="NAME", multiple=True, help="Who tastes (default: who tasted last).")
@option("--glasses", type=int, default=8, show_default=True, help="Most glasses of one flight.")
@option(
    "--least-difference",
    "difference",
    metavar="SIZE",
    default="",
    help="The difference that matters, to see how often it is found.",
)
@option(
    "--confidence",
    "level",
    type=number,
    default=95,
    show_default=True,
    help="How sure [%] a difference is that is found.",
)
@option("--seed", type=int, metavar="NUMBER", help="Draw with this seed (default: a new one).")
@option("--trial", "code", metavar="CODE", default="", help="Code for the trial (default: made from the date).")
@option("--keep", is_flag=True, help="Keep the trial, which stands from then on; without it nothing is written.")
@hand_option
@json_option
@click.pass_context
def plan_command(
    ctx: click.Context,
    /,
    barrels: str,
    keep: bool,
    hand: str | None,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - what is asked of the trial
) -> None:
    """Show what a trial of these barrels could find before anything is kept; with --keep draw treatments and keep it.

    The barrel is what is treated, so barrels treated alike are the error: glasses and tasters do not make up for few.
    """
    from cooperage.programme.ageing.aged import cellar_now
    from cooperage.programme.compared.kept import keep_trial
    from cooperage.programme.compared.planning import barrels_named, plan_trial
    from cooperage.programme.search.marks import marks_of

    book, mine = open_book(ctx), settings()
    units = mine.units
    cellar = cellar_now(book)
    chosen = barrels_named(barrels, cellar, lambda: marks_of(book, cellar, units), units)
    planned = plan_trial(book, cellar, chosen, _asked(asked, hand or mine.hand, book.now()), units)
    trial = keep_trial(book, planned.trial) if keep else planned.trial
    if as_json:
        print_json(barrel_trial_row(trial, is_kept=keep) | {"power": four_digits(power_row(planned))})
        return
    _print_plan(planned)
    if keep:
        click.echo(f"Kept as {trial.code}: it stands from now on.")
        _print_trial(trial, book)
    else:
        draws = "draw the treatments and keep it" if trial.seed is not None else "keep it"
        click.echo(f"Nothing is kept; repeat it with --keep to {draws}.")


def _asked(asked: dict[str, Any], hand: str, now: Any) -> "AskedOfTrial":  # noqa: ANN401 - a moment
    from cooperage.programme.compared.planning import AskedOfTrial
    from cooperage.programme.compared.trial import TrialTreatment

    named = [text.partition("=") for text in asked.pop("treatments")]
    treatments = [TrialTreatment(name.strip(), words.strip()) for name, _, words in named]
    given = dict(_of_a_barrel(text) for text in asked.pop("given"))
    days = [read_day(day, now) for day in asked.pop("days")]
    level = asked.pop("level") / 100
    return AskedOfTrial(treatments=treatments, given=given, days=days, level=level, hand=hand, **asked)


def _of_a_barrel(text: str) -> tuple[str, str]:
    tag, equals, name = text.partition("=")
    if not equals or not name.strip():
        raise BadCall(f"'{text}' is no barrel and treatment; give it as {tag.strip() or 'B-001'}=heavy")
    return tag.strip(), name.strip()


def _print_lines(lines: "Sequence[str]") -> None:
    """Print sentences, each wrapped to a terminal of 80 columns."""
    for line in lines:
        click.echo(fill(line, _COLUMNS, subsequent_indent="  ", break_on_hyphens=False))


def _print_plan(planned: "PlannedTrial") -> None:
    from cooperage.programme.compared.words import BARRELS_HEAD, barrels_cells, design_words, measure_words, power_lines

    units = settings().units
    click.echo(f"{planned.trial.question}  ({measure_words(planned.trial)})")
    _print_lines([design_words(planned.trial), *power_lines(planned, units)])
    print_table(BARRELS_HEAD, barrels_cells(planned, units), right=(0, 1))


def _print_trial(trial: "BarrelTrial", book: Any) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.compared.brief import state_words
    from cooperage.programme.compared.words import SITTINGS_HEAD, sittings_cells, treatment_lines

    _print_lines(treatment_lines(trial))
    print_table(SITTINGS_HEAD, sittings_cells(trial), right=(0,))
    click.echo(f"{trial.code}: {state_words(trial, local_day(book.now()))}")


@barrels_group.command(
    "list", examples=("cooperage trial barrels list", f"{_PLANNED} && cooperage trial barrels list --json")
)
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_json: bool) -> None:
    """List the trials across barrels, newest first, and how far each has come."""
    from cooperage.programme.compared.brief import state_words
    from cooperage.programme.compared.kept import barrel_trials
    from cooperage.programme.compared.words import NO_TRIALS

    book = open_book(ctx)
    found = barrel_trials(book)
    if as_json:
        print_json([barrel_trial_row(each) for each in found])
        return
    today = local_day(book.now())
    rows = [
        (
            each.code,
            each.question,
            ", ".join(treatment.name for treatment in each.treatments),
            str(len(each.barrels)),
            state_words(each, today),
        )
        for each in found
    ]
    print_table(("trial", "question", "treatments", "barrels", "state"), rows, right=(3,), empty=NO_TRIALS)


@barrels_group.command(
    "show",
    examples=(
        f"{_PLANNED} && cooperage trial barrels show TOPPING",
        "cooperage trial barrels show TOPPING --json",
    ),
)
@_trial
@json_option
@click.pass_context
def show_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show a trial: treatments, barrels, flights, and what was stated beforehand.

    Which barrel got which treatment is not shown while a flight of it is blind.
    """
    from cooperage.programme.compared.kept import trial_coded
    from cooperage.programme.compared.words import design_words, measure_words, spread_words, stated_words

    book, units = open_book(ctx), settings().units
    trial = trial_coded(book, code)
    if as_json:
        print_json(barrel_trial_row(trial))
        return
    click.echo(f"{trial.question}  ({measure_words(trial)})")
    _print_lines([design_words(trial), spread_words(trial, trial.stated.spread, units), stated_words(trial, units)])
    _print_trial(trial, book)


@barrels_group.command(
    "flight",
    examples=(
        f"{_PLANNED} --day today --day tomorrow && cooperage trial barrels flight TOPPING",
        "cooperage trial barrels flight TOPPING --json",
    ),
)
@_trial
@pull_option
@hand_option
@sure_option
@json_option
@click.pass_context
def flight_command(ctx: click.Context, code: str, pull: str, hand: str | None, sure: bool, as_json: bool) -> None:
    """Pour the next planned flight of a trial, blind; score and reveal it as any flight, with `cooperage taste`."""
    from cooperage.cli.taste.shown import flight_row, glasses_opened, print_to_pour
    from cooperage.programme.compared.pouring import pour_sitting

    by = hand or settings().hand
    trial, sitting, poured = pour_sitting(open_book(ctx), code, pull_of(pull), hand=by, sure=sure)
    if as_json:
        about = {"trial": trial.code, "sitting": sitting, "sittings": len(trial.sittings)}
        print_json(about | {"flight": flight_row(poured) | {"to_pour": glasses_opened(poured)}})
        return
    click.echo(f"trial {trial.code}, sitting {sitting} of {len(trial.sittings)}:")
    print_to_pour(poured)


@barrels_group.command(
    "results",
    examples=(
        "cooperage trial barrels plan 'more VA in the loft?' --barrels 'B-042 B-048 B-006 B-012' --compare room "
        "--measure va --trial LOFT --keep && echo 'B-042 VA 0.41' | cooperage lab - --sure && echo 'B-048 VA 0.38' | "
        "cooperage lab - --sure && echo 'B-006 VA 0.36' | cooperage lab - --sure && echo 'B-012 VA 0.33' | "
        "cooperage lab - --sure && cooperage trial barrels results LOFT",
        "cooperage trial barrels results LOFT --json",
    ),
)
@_trial
@json_option
@click.pass_context
def results_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show what a trial has found: means and differences with intervals, by its revealed flights alone."""
    from cooperage.programme.compared.outcome import trial_outcome
    from cooperage.programme.compared.words import MEANS_HEAD, means_cells, measure_words, outcome_lines, stated_words

    outcome, units = trial_outcome(open_book(ctx), code), settings().units
    if as_json:
        print_json(four_digits(outcome_row(outcome)))
        return
    click.echo(f"{outcome.trial.question}  ({measure_words(outcome.trial)})")
    print_table(MEANS_HEAD, means_cells(outcome, units), right=(1, 2, 3, 4))
    _print_lines([*outcome_lines(outcome, units), stated_words(outcome.trial, units)])


@barrels_group.command(
    "withdraw",
    examples=(
        f"{_PLANNED} && cooperage trial barrels withdraw TOPPING --why 'two barrels leak'",
        f"{_PLANNED.replace('TOPPING', 'MONTHLY')} && "
        "cooperage trial barrels withdraw MONTHLY --why 'the lot is sold' --json",
    ),
)
@_trial
@option("--why", metavar="TEXT", required=True, help="Why it is withdrawn, in a few words.")
@hand_option
@json_option
@click.pass_context
def withdraw_command(ctx: click.Context, code: str, why: str, hand: str | None, as_json: bool) -> None:
    """Withdraw a trial with its reason; it stays in the list, and so does what was tasted."""
    from cooperage.programme.compared.kept import withdraw_trial

    trial = withdraw_trial(open_book(ctx), code, why, hand=hand or settings().hand)
    if as_json:
        print_json(barrel_trial_row(trial))
    else:
        click.echo(f"trial {trial.code} is withdrawn: {trial.withdrawn.why if trial.withdrawn else ''}")


COMMANDS = (barrels_group,)
