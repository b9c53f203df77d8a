"""`cooperage trace CODE`: where a bottling comes from, and where a lot went."""

from typing import Any

import click

from cooperage.book.bottles import BottleStock, bottle_stock, stock_of, where_words
from cooperage.book.errors import NothingToTrace
from cooperage.book.trace import Trace, barrel_words, share_words
from cooperage.cli.look.shown import volume
from cooperage.cli.shared.command import command
from cooperage.cli.shared.complete import CODES
from cooperage.cli.shared.desk import json_option, open_book, plain, print_json, settings
from cooperage.errors import BadInput
from cooperage.units import counted


@command("trace", "cooperage trace SALT-25", "cooperage trace LB-24 --json")
@click.argument("code", shell_complete=CODES, help="Code of a bottling or a lot, or tag of a vessel.")
@json_option
@click.pass_context
def trace_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Trace a bottling back to its lots and barrels, or a lot forward to its bottlings."""
    book = open_book(ctx)
    try:
        found = book.trace(code)
    except NothingToTrace:
        _name_bottlings_of_run(book, code)
        raise
    stock = _stock(book, found)
    if as_json:
        print_json(plain(found) | {"stock": [{"place": each.place, "bottles": each.bottles} for each in stock]})
        return
    bottles = f", {counted(found.bottles, 'bottle')}" if found.bottles else ""
    click.echo(f"{found.code}: {found.kind}, {volume(round(1000 * found.litres))}{bottles}")
    for title, shares in (("lots", found.lots), ("barrels", found.barrels), ("is now in", found.now)):
        for share in shares:
            name = barrel_words(share, found)
            part = share_words(share.fraction, settings().units, digits=2)
            held = volume(round(1000 * share.litres))
            click.echo(f"  {title:<10} {name:<24} {part:>8}  {held:>11}")
    if stock:
        click.echo(f"  {'bottles':<10} {where_words(stock)}")


def _stock(book: Any, found: Trace) -> list[BottleStock]:  # noqa: ANN401 - a Book
    if found.kind != "bottling":
        return []
    with book.reading() as connection:
        return stock_of(bottle_stock(connection), found.code)


class TracedByBottling(BadInput):
    """A bottling run that was closed into several bottlings, each of which is traced by its own code."""

    def __init__(self, code: str, bottlings: list[str]) -> None:
        super().__init__(f"run {code} was closed into {', '.join(bottlings)}; trace each by its code")


def _name_bottlings_of_run(book: Any, code: str) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.bottling.stored import codes_of, runs_in

    with book.reading() as connection:
        for run in runs_in(connection):
            if run.code.casefold() == code.strip().casefold() and (bottlings := codes_of(connection, run)):
                raise TracedByBottling(run.code, bottlings)
