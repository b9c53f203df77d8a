"""`cooperage losses`: where litres went, beside what barrels usually drink, and the allowance."""

from datetime import datetime
from typing import Any

import click

from cooperage.book import Book
from cooperage.cli.desk import json_option, open_book, print_json, print_table, settings
from cooperage.cli.paste import moment_said
from cooperage.programme.allowance import allowance_words
from cooperage.programme.losses import GROUPINGS, LossRow, loss_rates, losses_by, total_ml
from cooperage.programme.norms import usual_by
from cooperage.programme.stays import stays
from cooperage.units import Quantity, show


@click.command("losses")
@click.option("--by", type=click.Choice(list(GROUPINGS)), default="cause", show_default=True)
@click.option("--since", metavar="DATE")
@click.option("--until", metavar="DATE")
@json_option
@click.pass_context
def losses_command(ctx: click.Context, by: str, since: str | None, until: str | None, *, as_json: bool) -> None:
    """Tell where litres were lost, and hold what barrels drank against what they usually drink.

    Drunk is what evaporated, leaked or was missing at a gauge; the usual is reckoned from each barrel's own visits and
    its peers'. Rooms and lots are those of the day.
    """
    book = open_book(ctx)
    began, ended = (moment_said(text, book.now()) for text in (since, until))
    cellar, spent = book.cellar(), stays(book, ended)
    rows = losses_by(book, by, began, ended, spent)
    usual = usual_by(cellar, spent, loss_rates(book, cellar), by, began, ended)
    if as_json:
        print_json([_row(by, row, usual.get(row.what)) for row in rows])
    else:
        _tell(by, rows, usual)
        _tell_allowance(book, rows, began, ended)


def _row(by: str, row: LossRow, usual_ml: int | None) -> dict[str, Any]:
    return {
        by: row.what,
        "litres": row.total_ml / 1000,
        "drunk": row.drunk_ml / 1000,
        "usual": None if usual_ml is None else usual_ml / 1000,
        "causes": {cause: ml / 1000 for cause, ml in row.causes.items()},
    }


def _volume(ml: int | None) -> str:
    return "" if ml is None else show(Quantity.VOLUME, ml, settings().units)


def _tell(by: str, rows: list[LossRow], usual: dict[str, int]) -> None:
    lines = [
        (
            row.what,
            _volume(row.total_ml),
            _volume(row.drunk_ml),
            _volume(usual.get(row.what)),
            ", ".join(f"{cause} {_volume(ml)}" for cause, ml in sorted(row.causes.items())),
        )
        for row in rows
    ]
    print_table((by, "lost", "drunk", "usual", "of which"), lines, right=(1, 2, 3))


def _tell_allowance(book: Book, rows: list[LossRow], began: datetime | None, ended: datetime | None) -> None:
    lost = total_ml(rows)
    click.echo(f"{_volume(lost)} lost in all: {allowance_words(book, lost, began, ended, settings().units)}")
