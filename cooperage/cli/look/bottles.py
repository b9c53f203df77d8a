"""`cooperage bottles`: the stock of bottles by bottling, size and place."""

import click

from cooperage.book.bottles import BottleStock, bottle_stock, place_words, stock_of
from cooperage.cli.look.shown import seen_at, volume
from cooperage.cli.shared.command import command
from cooperage.cli.shared.complete import BOTTLINGS
from cooperage.cli.shared.desk import as_of_option, json_option, open_book, print_json, print_table, settings
from cooperage.units import counted, show_exact


@command("bottles", "cooperage bottles", "cooperage bottles SALT-25 --json", "cooperage bottles --as-of '30 days ago'")
@click.argument("code", required=False, shell_complete=BOTTLINGS, help="Code of a bottling (default: all of them).")
@as_of_option
@json_option
@click.pass_context
def bottles_command(ctx: click.Context, code: str | None, as_of: str | None, as_json: bool) -> None:
    """Show the stock of bottles by bottling, size and store, and what became of the others."""
    with open_book(ctx).reading() as connection:
        stock = bottle_stock(connection, until=seen_at(as_of))
    found = stock if code is None else stock_of(stock, code)
    if as_json:
        print_json([_row(each) for each in found])
        return
    shown = [each for each in found if each.bottles > 0]
    rows = [
        (e.code, show_exact(e.bottle_ml, settings().units), place_words(e.place), str(e.bottles), volume(e.ml))
        for e in shown
    ]
    empty = "Nothing was bottled yet; `cooperage log bottle` writes a bottling."
    print_table(("bottling", "bottle", "where", "bottles", "volume"), rows, (1, 3, 4), empty)
    if rows:
        here = [each for each in shown if each.is_in_store]
        in_stock = counted(sum(each.bottles for each in here), "bottle")
        click.echo(f"{in_stock} in stock, {volume(sum(each.ml for each in here))}")


def _row(stock: BottleStock) -> dict[str, object]:
    return {
        "bottling": stock.code,
        "bottle_l": stock.bottle_ml / 1000,
        "place": stock.place,
        "in_stock": stock.is_in_store,
        "bottles": stock.bottles,
        "volume_l": stock.ml / 1000,
    }
