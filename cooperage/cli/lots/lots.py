"""`cooperage lots`: every lot and how far it has come."""

import click

from cooperage.cli.lots.shown import sheet_json
from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.units import Quantity, show


@command("lots", "cooperage lots", "cooperage lots --json")
@json_option
@click.pass_context
def lots_command(ctx: click.Context, as_json: bool) -> None:
    """List the lots, how far each has come, and what is left of it."""
    from cooperage.programme.ageing.aged import cellar_now
    from cooperage.programme.batches.lot_sheet import lot_sheets

    book, units = open_book(ctx), settings().units
    sheets = lot_sheets(book, cellar_now(book))
    if as_json:
        print_json([sheet_json(each) for each in sheets])
        return
    rows = [
        (
            each.lot.code,
            each.lot.name,
            each.status.value,
            show(Quantity.VOLUME, each.now.ml, units),
            str(len(each.now.holdings)),
            show(Quantity.GRAVITY, each.original, units),
            "yes" if each.batch is not None else "no",
        )
        for each in sheets
    ]
    head = ("lot", "name", "status", "held", "vessels", "began at", "batch sheet")
    print_table(head, rows, right=(3, 4, 5), empty="No lots yet; `cooperage add lot` registers one.")
