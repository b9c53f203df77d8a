"""`cooperage barrels`: the vessels in walking order with what they hold."""

from typing import Any

import click

from cooperage.book import Standing
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.vessel_words import chalked_place
from cooperage.cli.look.shown import level_row, seen_at, volume
from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.desk import as_of_option, json_option, open_book, print_json, print_table, settings
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import format_level, level_now
from cooperage.programme.losses.loss_rate import LossRate
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import Quantity, show


def barrel_row(standing: Standing, rate: LossRate | None = None) -> dict[str, Any]:
    """Return one vessel as scripts read it."""
    room, row, bay, tier = standing.position
    barrel = standing.vessel.barrel
    return {
        "tag": standing.tag,
        "kind": standing.vessel.kind,
        "litres": standing.litres,
        "level_now_l": level_row(level_now(standing, rate)),
        "capacity_l": standing.vessel.capacity_ml / 1000,
        "capacity_how": standing.vessel.capacity_how,
        "fills": standing.fill_number,
        "lots": standing.lots,
        "room": room,
        "row": row,
        "bay": bay,
        "tier": tier,
        "wood": barrel.wood if barrel else None,
        "past_life": barrel.past_life if barrel else None,
        "days_in_wood": standing.days_in_wood,
        "retired": standing.is_retired,
        "verdict": _verdict_row(standing),
        **{name: standing.value(name) for name in PROPERTIES if name != "headspace_mm"},
        "molecular_so2_mg_l": standing.molecular_so2,
        "cost_per_l": standing.cost_per_l,
        "currency": settings().units.currency or None,
    }


def _verdict_row(standing: Standing) -> dict[str, Any] | None:
    """Return what was last decided about a vessel as scripts read it."""
    judged = standing.judged
    if judged is None:
        return None
    word, weeks = judged.decided
    said = {"verdict": word, "weeks": weeks, "at": judged.at, "flight": judged.flight, "next_look": judged.next_look}
    return said | {"carried_from": judged.carried_from}


@command(
    "barrels", "cooperage barrels", "cooperage barrels --kind tank", "cooperage barrels --as-of '90 days ago' --json"
)
@as_of_option
@option(
    "--kind",
    type=WordChoice(("barrel", "tank", "keg", "demijohn", "any")),
    metavar="KIND",
    default="barrel",
    show_default=True,
    help="Kind of vessel: barrel, tank, keg, demijohn (or any).",
)
@option("--retired", is_flag=True, help="Retired vessels too.")
@json_option
@click.pass_context
def barrels_command(ctx: click.Context, as_of: str | None, kind: str, retired: bool, as_json: bool) -> None:
    """List the barrels (or tanks, kegs) in walking order with what they hold."""
    book = open_book(ctx)
    cellar = cellar_now(book, seen_at(as_of))
    rates = loss_rates(book, cellar)
    chosen = [s for s in cellar.in_walking_order() if kind in ("any", s.vessel.kind) and (retired or not s.is_retired)]
    if as_json:
        print_json([barrel_row(standing, rates.get(standing.tag)) for standing in chosen])
        return
    empty = missing(cellar) or f"The cellar has no {'vessel' if kind == 'any' else kind} in use."
    lines = [_barrel_line(standing, rates.get(standing.tag)) for standing in chosen]
    print_table(_BARREL_HEADER, lines, right=(2, 4, 7, 8), empty=empty)


_BARREL_HEADER = ("tag", "where", "in the book", "now (90 %)", "of", "fill", "lot", "strength", "sugar")


def _barrel_line(standing: Standing, rate: LossRate | None) -> tuple[str, ...]:
    units = settings().units
    lots = list(standing.lots)
    fill = "?" if standing.fill_number is None else str(standing.fill_number)
    return (
        standing.tag,
        chalked_place(standing.position),
        "retired" if standing.is_retired else "empty" if standing.ml == 0 else volume(standing.ml),
        format_level(level_now(standing, rate), units) if standing.ml else "",
        volume(standing.vessel.capacity_ml),
        fill if standing.vessel.is_barrel else "",
        (lots[0] + (f" +{len(lots) - 1}" if len(lots) > 1 else "")) if lots else "",
        show(Quantity.STRENGTH, standing.value("abv"), units) if standing.ml else "",
        show(Quantity.SUGAR, standing.value("sugar_g_l"), units) if standing.ml else "",
    )
