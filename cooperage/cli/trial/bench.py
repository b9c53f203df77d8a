"""`cooperage trial sheet` and `pour`: the glasses mixed on the bench, and poured blind."""

from pathlib import Path
from typing import Any

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.cli.shared.out import NewFile, force_option
from cooperage.cli.trial.shown import glass_row, trial_argument

_session_option = option("--session", type=int, metavar="NUMBER", help="Only this session (default: all of them).")


@command(
    "sheet",
    "cooperage trial sheet TR-2",
    "cooperage trial sheet TR-2 --session 1 --out sheet.csv --json",
)
@trial_argument
@_session_option
@option("--out", type=NewFile(), metavar="PATH", help="Write the sheet to a file instead.")
@force_option
@json_option
@click.pass_context
def sheet_command(
    ctx: click.Context, code: str, session: int | None, out: Path | None, force: bool, as_json: bool
) -> None:
    """Print the bench sheet: millilitres of each stock for each glass, and what that takes of each vessel."""
    from cooperage.blending.trials.kept import trial
    from cooperage.blending.trials.pouring import check_session
    from cooperage.blending.trials.sheet import trial_sheet

    book = open_book(ctx)
    found = trial(book, code)
    check_session(found, session)
    sheet = trial_sheet(found, book.cellar(), session)
    if out is not None:
        _write(sheet, out, force=force)
    if as_json:
        print_json(_sheet_row(sheet) | ({"file": str(out)} if out else {}))
    elif out is not None:
        click.echo(f"wrote {out}")
    else:
        _print_sheet(sheet)


def _write(sheet: Any, path: Path, *, force: bool) -> None:  # noqa: ANN401 - a TrialSheet
    from cooperage.blending.trials.sheet import sheet_csv
    from cooperage.outfile import new_file

    with new_file(path, force=force) as half_done:
        half_done.write_text(sheet_csv(sheet), encoding="utf-8", newline="")


def _sheet_row(sheet: Any) -> dict[str, Any]:  # noqa: ANN401 - a TrialSheet
    return {
        "code": sheet.trial.code,
        "step_ml": sheet.trial.step_ml,
        "rounding_strays_percent": round(sheet.strays_by_points, 2),
        "glasses": [glass_row(sheet.trial, glass) for glass in sheet.glasses],
        "totals": [
            {"stock": each.stock, "vessel": each.vessel, "taken_ml": each.ml, "held_l": each.held_ml / 1000}
            for each in sheet.totals
        ],
    }


def _print_sheet(sheet: Any) -> None:  # noqa: ANN401 - a TrialSheet
    from cooperage.blending.trials.sheet import lot_words, rounding_words, sheet_cells, sheet_head, total_words

    units, trial, head = settings().units, sheet.trial, sheet_head(sheet)
    click.echo(f"Bench sheet of {trial.code}: {trial.question or 'no question written'}")
    for line in lot_words(trial.stocks):
        click.echo(line)
    print_table(head, sheet_cells(sheet, units), right=range(1, len(head)))
    for line in (rounding_words(sheet, units), *total_words(sheet, units)):
        click.echo(line)
    click.echo("Keep this from the tasters: they score by code alone.")


@command(
    "pour",
    "cooperage trial pour TR-2",
    "cooperage trial plan B-003 B-004 --keep && cooperage trial pour TR-3 --session 1 --attribute fruit --json",
)
@trial_argument
@option("--session", type=int, metavar="NUMBER", help="Session to pour (default: the next).")
@option(
    "--attribute",
    "attributes",
    multiple=True,
    metavar="NAME[=VALUE]",
    help="Scored beside the overall score, as honey, or oak=0-20 for a scale of its own; repeat it for more.",
)
@option("--no-samples", is_flag=True, help="Write no sample of what the glasses take of each vessel.")
@hand_option
@sure_option
@json_option
@click.pass_context
def pour_command(
    ctx: click.Context,
    code: str,
    session: int | None,
    attributes: tuple[str, ...],
    no_samples: bool,
    hand: str | None,
    sure: bool,
    as_json: bool,
) -> None:
    """Pour a session as a blind flight: the glasses get codes, in an order by chance.

    What they take of each vessel is written as a sample.
    """
    from cooperage.blending.trials.pouring import pour_trial, pour_words
    from cooperage.cli.taste.shown import flight_row, glasses_opened, print_to_pour

    found, poured = pour_trial(
        open_book(ctx),
        code,
        session,
        attributes=attributes,
        samples=not no_samples,
        hand=hand or settings().hand,
        sure=sure,
    )
    if as_json:
        print_json({"trial": found.code, "flight": flight_row(poured) | {"to_pour": glasses_opened(poured)}})
        return
    print_to_pour(poured, f"{found.code} is poured as ", pour_words)
    click.echo(f"Scores: `cooperage taste score {poured.code} GLASS TASTER SCORE`")


COMMANDS = (sheet_command, pour_command)
