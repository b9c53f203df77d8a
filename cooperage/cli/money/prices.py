"""`cooperage prices`: what substances, bottles, closures, labels and an hour of work cost, from which day on."""

import click

from cooperage.book.prices import FREE, ITEMS
from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import one_of
from cooperage.cli.shared.desk import (
    as_of_option,
    hand_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.programme.money import words
from cooperage.programme.money.as_rows import price_json, prices_json
from cooperage.programme.money.pricing import every_price, prices_in_force, set_price
from cooperage.units import read_span


@click.group(
    "prices",
    cls=CommandGroup,
    examples=(
        "cooperage prices set honey 6.40 && cooperage prices list",
        "cooperage prices set bottle 0.58 --bottle 750ml",
    ),
)
def prices_command() -> None:
    """Show or write down prices: of substances, bottles, closures, labels and an hour of work."""


@prices_command.command("list", examples=("cooperage prices list", "cooperage prices list --past --json"))
@option("--past", "every", is_flag=True, help="Show every price that was ever written, not only those in force.")
@as_of_option
@json_option
@click.pass_context
def list_command(ctx: click.Context, as_of: str | None, *, every: bool, as_json: bool) -> None:
    """List the prices in force, each with the day it holds from, and what has no price yet."""
    book = open_book(ctx)
    now = book.now()
    at = read_span(None, as_of, now).seen_at(now) or now
    written = every_price(book)
    standing = prices_in_force(written, at)
    shown = written if every else standing
    if as_json:
        print_json(prices_json(shown, standing))
        return
    units = settings().units
    print_table(words.PRICE_HEAD, [words.price_cells(each, units) for each in shown], (1,), empty="No price is set.")
    priced = {each.item for each in standing if each.amount is not None}
    for line in words.unset_lines(name for name, item in ITEMS.items() if not (name in priced | FREE or item.of_act)):
        click.echo(line)
    if not FREE & priced:
        click.echo(f"{', '.join(FREE).capitalize()} counts as free until it has a price.")
    if not units.currency:
        click.echo(words.NO_CURRENCY)


@prices_command.command(
    "set",
    examples=(
        "cooperage prices set metabisulphite 14.50",
        "cooperage prices set closure 0.0875 --bottle 750ml --since 2026-01-01 --json",
        "cooperage prices set hour unknown",
    ),
)
@click.argument("item", shell_complete=one_of(lambda: ITEMS), help=f"One of {', '.join(ITEMS)}.")
@click.argument(
    "amount", metavar="PRICE", help="By the kilogram, your unit of volume, the bottle or the hour; or the word unknown."
)
@option(
    "--bottle",
    "size",
    metavar="VOLUME",
    default="",
    help="For bottles of this size; an empty bottle has a price by size.",
)
@option("--since", metavar="DATE", help="The day it holds from (default: today).")
@sure_option
@hand_option
@json_option
@click.pass_context
def set_command(
    ctx: click.Context,
    item: str,
    amount: str,
    size: str,
    since: str | None,
    hand: str | None,
    *,
    sure: bool,
    as_json: bool,
) -> None:
    """Write down a price from a day on; earlier ones stay for what was done before that day."""
    book, mine = open_book(ctx), settings()
    signed = hand or mine.hand
    made = set_price(book, item, amount, size=size, since=since or "", hand=signed, units=mine.units, sure=sure)
    if as_json:
        print_json(price_json(made))
        return
    click.echo(f"Written: {words.price_line(made, mine.units)}")
