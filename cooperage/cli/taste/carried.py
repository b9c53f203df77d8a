"""`cooperage taste carry-over`: what the glass before did to the scores of a flight."""

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.cli.taste.shown import flight_argument
from cooperage.units import Quantity, show, show_signed


@command("carry-over", "cooperage taste carry-over F-4   # refused: its tasters met the glasses in rotation")
@flight_argument
@json_option
@click.pass_context
def carry_over_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show what the glass before did to each score of a revealed flight, by the orders its tasters had."""
    from cooperage.tasting.flights.stored import flight
    from cooperage.tasting.order_effects import order_effects

    found = order_effects(flight(open_book(ctx), code))
    if as_json:
        rows = [
            {"glass": row.glass.code, "vessel": row.glass.vessel, "mean_points": row.mean}
            | {"effect_points": row.direct, "left_to_next_points": row.carried}
            for row in found.rows
        ]
        print_json({"code": code, "glasses": rows, "p": found.fit.carry_over_adjusted.p, "words": found.words()})
        return
    units = settings().units
    lines = [
        (
            row.glass.code,
            row.glass.called,
            show(Quantity.NUMBER, row.mean, units, digits=1),
            show_signed(row.direct, units),
            show_signed(row.carried, units),
        )
        for row in found.rows
    ]
    print_table(("glass", "vessel", "mean", "effect", "left to next"), lines, right=(2, 3, 4))
    click.echo(found.words(units))
