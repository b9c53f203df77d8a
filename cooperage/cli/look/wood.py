"""`cooperage wood`: what is left in each barrel's wood, what it costs, what to buy, which barrel suits which lot."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import click

from cooperage.book import Cellar
from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import TAGS
from cooperage.cli.shared.desk import (
    BadCall,
    json_option,
    open_book,
    print_cautions_once,
    print_json,
    print_table,
    settings,
)
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.upkeep.beginnings import missing
from cooperage.programme.wood import words
from cooperage.programme.wood.as_rows import need_json, pair_json, retired_json, wood_json
from cooperage.programme.wood.basis import cost_basis
from cooperage.programme.wood.cost import CostBasis
from cooperage.programme.wood.need import need_of_year
from cooperage.programme.wood.pairs import lot_waiting, lots_waiting, pair_up
from cooperage.programme.wood.retired import Retirement, retirement_of
from cooperage.programme.wood.standings import WoodStanding, wood_standings
from cooperage.units import DEFAULT, Quantity, read


@command(
    "wood",
    "cooperage wood",
    "cooperage wood B-012",
    "cooperage wood --need --spread effect",
    "cooperage wood --assign HE-25=225L LB-25=200L/wood",
)
@click.argument(
    "names",
    nargs=-1,
    metavar="[TAG]...",
    shell_complete=TAGS,
    help="Tags of barrels (default: all); with --assign, lots as LOT=VOLUME or LOT=VOLUME/WISH (default: tanks).",
)
@option("--need", "asks_need", is_flag=True, help="Show instead what barrels to buy for the coming year.")
@option("--assign", "assigns", is_flag=True, help="Show instead which empty barrel each lot suits best.")
@option("--same-room", is_flag=True, help="With --assign: all barrels of a lot in one room.")
@option(
    "--spread",
    type=WordChoice(("straight", "effect")),
    metavar="HOW",
    help="How a price is spread over fills: straight, or by the wood effect (default: as the cellar has it).",
)
@option(
    "--fills",
    type=click.IntRange(1, 50),
    metavar="NUMBER",
    help="Fills that a barrel is bought for, where its price is spread straight (default: as the cellar has it).",
)
@option(
    "--day-cost",
    metavar="MONEY",
    help="What a day's work at one barrel costs (default: as the cellar has it, or not counted).",
)
@json_option
@click.pass_context
def wood_command(
    ctx: click.Context,
    names: tuple[str, ...],
    spread: str | None,
    fills: int | None,
    day_cost: str | None,
    *,
    asks_need: bool,
    assigns: bool,
    same_room: bool,
    as_json: bool,
) -> None:
    """Show the wood left in each barrel, what it costs, and what to do with it, the most pressing first.

    Wood left is in percent of what the barrel gave new. A lot wants one of any, wood, neutral, spirit, sour. What does
    not suit is given as litres of mead that it is worth.
    """
    if (asks_need and (assigns or names)) or (same_room and not assigns):
        raise BadCall("--need stands alone, and --same-room goes with --assign; leave one of them out")
    book, units = open_book(ctx), DEFAULT if as_json else settings().units
    cellar = cellar_now(book)
    basis = _basis(cost_basis(book), spread, fills, day_cost)
    if assigns:
        _assign(book, cellar, names, basis, same_room=same_room, as_json=as_json)
        return
    gone = [found for tag in names if (found := retirement_of(book, cellar, tag, basis)) is not None]
    wood = wood_standings(book, cellar, units=units, basis=basis)
    if asks_need:
        _print_need(book, cellar, wood, as_json=as_json)
        return
    wanted = {cellar[tag].tag for tag in names}
    if strange := sorted(tag for tag in wanted if not cellar[tag].vessel.is_barrel):
        raise BadCall(f"{', '.join(strange)} is no barrel, and has no wood; name a barrel")
    chosen = [each for each in wood if not names or each.tag in wanted]
    if as_json:
        print_json([*(wood_json(each) for each in chosen), *(retired_json(each) for each in gone)])
    elif names:
        _print_each(chosen, gone)
    else:
        rows = [words.wood_row(each, units) for each in chosen]
        print_table(words.wood_head(units), rows, (0, 3, 4, 6, 7), empty=missing(cellar) or "No barrel is in the book.")
        _print_cautions(each for each in chosen if each.advice.verdict.value != "keep")


def _basis(own: CostBasis, spread: str | None, fills: int | None, day_cost: str | None) -> CostBasis:
    """Return the cellar's own basis of costs with what is asked for otherwise."""
    if spread is not None:
        own = replace(own, spread="effect" if spread == "effect" else "straight")
    if day_cost is not None:
        own = replace(own, day_cost=float(read(Quantity.MONEY, day_cost, settings().units)))
    return own if fills is None else replace(own, fills=fills)


def _print_cautions(wood: Iterable[WoodStanding]) -> None:
    print_cautions_once(each.cautions for each in wood)


def _print_each(wood: list[WoodStanding], gone: list[Retirement]) -> None:
    units = settings().units
    for each in wood:
        click.echo(each.tag)
        for label, text in words.wood_lines(each, units):
            click.echo(f"  {label:<16} {text}")
    for retired in gone:
        click.echo(retired.barrel)
        for label, text in words.retired_lines(retired, units):
            click.echo(f"  {label:<16} {text}")
    _print_cautions(wood)


def _print_need(book: Any, cellar: Cellar, wood: list[WoodStanding], *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    need, units = need_of_year(book, cellar, wood), settings().units
    if as_json:
        print_json(need_json(need))
        return
    rows = [words.need_row(each, units) for each in need.kinds]
    print_table(words.NEED_HEAD, rows, words.NEED_NUMBERS, empty=missing(cellar) or "No barrel is in the book.")
    for line in words.need_lines(need, units):
        click.echo(line)


def _assign(
    book: Any,  # noqa: ANN401 - a Book
    cellar: Cellar,
    names: tuple[str, ...],
    basis: CostBasis,
    *,
    same_room: bool,
    as_json: bool,
) -> None:
    units = settings().units
    lots = [lot_waiting(text, cellar, units) for text in names] or lots_waiting(cellar)
    rates = loss_rates(book, cellar)
    pairs = pair_up(lots, wood_standings(book, cellar, rates, units, basis), cellar, rates, same_room=same_room)
    if as_json:
        print_json([pair_json(pair) for pair in pairs])
        return
    print_table(words.PAIR_HEAD, [words.pair_row(pair, units) for pair in pairs], words.PAIR_NUMBERS)
    click.echo(f"all of it costs as much as {words.litres(words.pairs_total(pairs), units)} of mead")
    print_cautions_once(pair.cautions for pair in pairs)
