"""`cooperage taste tasters`: how each taster scored over all closed flights, with how surely it is known."""

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.units import Quantity, Units, show, show_signed

if TYPE_CHECKING:
    from cooperage.tasting.statistics.records import Between, TasterRecord

HEADS = ("taster", "flights", "glasses", "bias", "between", "steady", "between", "like others", "between")


@command("tasters", "cooperage taste tasters", "cooperage taste tasters honey --json")
@click.argument("what", default="overall", metavar="[ATTRIBUTE]", help="What was scored (default: overall).")
@json_option
@click.pass_context
def tasters_command(ctx: click.Context, what: str, as_json: bool) -> None:
    """Show how each taster scored over all closed flights: bias, steadiness, likeness to the others, with intervals.

    Points of different scales are never put together: each scale has a table of its own.
    """
    from cooperage.tasting.over_years import bias_words, records_over_years, scale_use_words

    found = records_over_years(open_book(ctx), what)
    if as_json:
        scales = [{"scale": each.scale, "flights": each.flights} | _rows(each.records) for each in found]
        print_json({"scored": what, "scales": scales})
        return
    units = settings().units
    if not found:
        click.echo(f"no closed flight has a score for '{what}'")
    for each in found:
        click.echo(f"{each.what}, scale {each.scale}, points; 95 % intervals")
        print_table(HEADS, [_cells(record, units) for record in each.records], right=(1, 2, 3, 5, 7))
        for record in each.records:
            click.echo(bias_words(record, units))
            if words := scale_use_words(record, units):
                click.echo(words)


def _cells(record: "TasterRecord", units: Units) -> tuple[str, ...]:
    def plainly(value: float, digits: int) -> str:
        return show(Quantity.NUMBER, value, units, digits=digits)

    def cells(known: "Between", shown: Callable[[float], str]) -> tuple[str, str]:
        value = "" if math.isnan(known.value) else shown(known.value)
        if math.isnan(known.low):
            return value, ""
        high = "or more" if math.isinf(known.high) else f"to {shown(known.high)}"
        return value, f"{shown(known.low)} {high}"

    return (
        record.taster,
        str(record.flights),
        str(record.glasses),
        *cells(record.bias, lambda value: show_signed(value, units)),
        *cells(record.steady, lambda value: plainly(value, 1)),
        *cells(record.likeness, lambda value: plainly(value, 2)),
    )


def _rows(records: "list[TasterRecord]") -> dict[str, Any]:
    rows = [
        {"taster": record.taster, "flights": record.flights, "glasses": record.glasses, "duplicates": record.pairs}
        | _ends("bias_points", record.bias)
        | _ends("steady_sd_points", record.steady)
        | _ends("scale_use", record.scale_use)
        | _ends("likeness", record.likeness)
        for record in records
    ]
    return {"tasters": rows}


def _ends(name: str, known: "Between") -> dict[str, float | None]:
    figures = {name: known.value, f"{name}_low": known.low, f"{name}_high": known.high}
    return {key: figure if math.isfinite(figure) else None for key, figure in figures.items()}
