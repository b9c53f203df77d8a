"""`cooperage value`, `cost`, `angels`: what is in the cellar has cost, and what became of all costs."""

from typing import Any

import click

from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import CODES
from cooperage.cli.shared.desk import (
    as_of_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    since_option,
    until_option,
)
from cooperage.programme.money import words
from cooperage.programme.money.angels import ANGELS_BY, angels_by, in_all
from cooperage.programme.money.as_rows import MoneyJson
from cooperage.programme.money.costed import costs_of
from cooperage.programme.money.rows import VALUE_BY, balance_of, sum_of
from cooperage.programme.money.value import CellarValue, value_at, value_by
from cooperage.units import read_span, show_day


@command(
    "value",
    "cooperage value",
    "cooperage value --per vessel --as-of yesterday",
    "cooperage value --per bottling --json",
)
@option(
    "--per",
    "by",
    formerly=("--by",),
    type=WordChoice(tuple(VALUE_BY)),
    metavar="GROUP",
    default="kind",
    show_default=True,
    help=f"List per {', '.join(VALUE_BY)}.",
)
@as_of_option
@json_option
@click.pass_context
def value_command(ctx: click.Context, by: str, as_of: str | None, *, as_json: bool) -> None:
    """Show what everything in the cellar has cost: mead, bottles, and what is left of the barrels' price.

    Cost goes with the mead: what evaporates leaves its cost with the rest. A help for your books, not tax or accounting
    advice.
    """
    value = _value(ctx, as_of)
    rows, balance = VALUE_BY[by](value), balance_of(value)
    if as_json:
        made = MoneyJson(value)
        found = {"by": by, "rows": [made.row(row) for row in rows], "sum": made.row(sum_of(rows))}
        print_json(made.head() | found | made.balance(balance) | {"not_known": made.gaps(value.gaps)})
        return
    units = settings().units
    cells = [words.value_cells(row, units) for row in (*rows, *([sum_of(rows)] if rows else ()))]
    print_table(words.VALUE_HEAD, cells, words.VALUE_NUMBERS, empty="Nothing is in the cellar.")
    for label, text in words.balance_lines(balance, units):
        click.echo(f"{label:<9} {text}")
    _print_closing([f"As of {show_day(value.at)}.", *words.gap_lines(value, value.gaps, units)])


def _value(ctx: click.Context, as_of: str | None) -> CellarValue:
    book = open_book(ctx)
    return value_by(book, read_span(None, as_of, book.now()))


def _print_closing(lines: list[str]) -> None:
    for line in (*lines, *words.closing_lines(settings().units)):
        click.echo(line)


@command("cost", "cooperage cost B-001", "cooperage cost SALT-25 --json", "cooperage cost HE-24 --as-of yesterday")
@click.argument("code", shell_complete=CODES, help="Tag of a vessel, or code of a lot or a bottling.")
@as_of_option
@json_option
@click.pass_context
def cost_command(ctx: click.Context, code: str, as_of: str | None, *, as_json: bool) -> None:
    """Show what a vessel's mead, a lot or a bottling has cost, in its parts, per litre and per bottle.

    A help for your books, not tax or accounting advice.
    """
    value = _value(ctx, as_of)
    found, units = costs_of(value, code), settings().units
    if as_json:
        made = MoneyJson(value)
        print_json(made.head() | {"costs": [made.costed(each) for each in found]})
        return
    lines = [line for each in found for line in words.cost_words(value, each, units)]
    _print_closing(lines)


@command(
    "angels",
    "cooperage angels",
    "cooperage angels --per room --since 'last month'",
    "cooperage angels --per wood --json",
)
@option(
    "--per",
    "by",
    formerly=("--by",),
    type=WordChoice(tuple(ANGELS_BY)),
    metavar="GROUP",
    default="month",
    show_default=True,
    help=f"Add up per {', '.join(ANGELS_BY)}.",
)
@since_option
@until_option
@json_option
@click.pass_context
def angels_command(ctx: click.Context, by: str, since: str | None, until: str | None, *, as_json: bool) -> None:
    """Show what the angels cost this year: what wood and air took, and what that mead had cost until then.

    Its cost is not lost: it stays with the mead that is left, which gets dearer.
    """
    book = open_book(ctx)
    span = read_span(since or ("this year" if until is None else None), until, book.now())
    value = value_at(book, span.seen_at(book.now()))
    rows = angels_by(value, by, span)
    if as_json:
        made = MoneyJson(value)
        found = {"rows": [made.angels(by, row) for row in rows], "sum": made.angels(by, in_all(rows))}
        print_json(made.head() | found)
        return
    units = settings().units
    cells: list[Any] = [words.angels_cells(row, units) for row in (*rows, *([in_all(rows)] if rows else ()))]
    print_table(words.angels_head(by), cells, words.ANGELS_NUMBERS, empty="Nothing was taken in this time.")
    _print_closing([])
