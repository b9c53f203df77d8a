"""`cooperage losses`: where litres went, beside what barrels usually lose, and the allowance."""

from typing import Any

import click

from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.desk import (
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    since_option,
    until_option,
)
from cooperage.programme.ahead.usual import usual_by
from cooperage.programme.losses.allowance import allowance_over
from cooperage.programme.losses.ledger import GROUPINGS, LossRow, loss_rates, losses_by, total_ml
from cooperage.programme.losses.stays import stays
from cooperage.units import Quantity, read_span, show


@command(
    "losses",
    "cooperage losses",
    "cooperage losses --per room --since 'this year'",
    "cooperage losses --per barrel --json",
)
@option(
    "--per",
    "by",
    type=WordChoice(GROUPINGS),
    metavar="GROUP",
    formerly=("--by",),
    default="cause",
    show_default=True,
    help=f"Add up per {', '.join(GROUPINGS)}.",
)
@since_option
@until_option
@json_option
@click.pass_context
def losses_command(ctx: click.Context, by: str, since: str | None, until: str | None, *, as_json: bool) -> None:
    """Show where mead was lost, and compare what barrels lost with their usual loss.

    Barrel loss is what evaporated, leaked or was missing at a gauge. The usual loss is calculated from each barrel's
    own toppings and those of similar barrels. Rooms and lots are those of the day of the loss.
    """
    book = open_book(ctx)
    span = read_span(since, until, book.now())
    cellar, spent = book.cellar(), stays(book, span.seen_at(book.now()))
    rows = losses_by(book, by, span.start, span.last, spent)
    usual = usual_by(cellar, spent, loss_rates(book, cellar), by, span.start, span.seen_at(cellar.at))
    if as_json:
        print_json([_row(by, row, usual.get(row.what)) for row in rows])
    else:
        _print(by, rows, usual)
        lost = allowance_over(book, span).words(total_ml(rows), settings().units)
        click.echo(f"lost altogether: {lost}")


def _row(by: str, row: LossRow, usual_ml: int | None) -> dict[str, Any]:
    return {
        by: row.what,
        "lost_l": row.total_ml / 1000,
        "barrel_loss_l": row.taken_ml / 1000,
        "usual_loss_l": None if usual_ml is None else usual_ml / 1000,
        "causes_l": {cause: ml / 1000 for cause, ml in row.causes.items()},
    }


def _volume(ml: int | None) -> str:
    return "" if ml is None else show(Quantity.VOLUME, ml, settings().units)


def _print(by: str, rows: list[LossRow], usual: dict[str, int]) -> None:
    lines = [
        (
            row.what,
            _volume(row.total_ml),
            _volume(row.taken_ml),
            _volume(usual.get(row.what)),
            ", ".join(f"{cause} {_volume(ml)}" for cause, ml in sorted(row.causes.items())),
        )
        for row in rows
    ]
    empty = "Nothing was lost in this period."
    print_table((by, "lost", "barrel loss", "usual", "of which"), lines, right=(1, 2, 3), empty=empty)
