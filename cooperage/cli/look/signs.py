"""`cooperage signs`: warnings, each with its reason."""

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_cautions_once, print_json, print_table, settings
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import DEFAULT, show_day


@command("signs", "cooperage signs", "cooperage signs --json")
@json_option
@click.pass_context
def signs_command(ctx: click.Context, as_json: bool) -> None:
    """Show warnings: leaks, low sulphite, climbing acidity, odd dips, forgotten empties."""
    book = open_book(ctx)
    cellar = cellar_now(book)
    found = signs(book, cellar, units=DEFAULT if as_json else settings().units)
    if as_json:
        print_json(found)
        return
    rows = [(s.vessel, s.kind, "" if s.since is None else show_day(s.since), s.why) for s in found]
    empty = missing(cellar) or "No sign of trouble."
    print_table(("vessel", "warning", "since", "why"), rows, empty=empty)
    print_cautions_once(sign.cautions for sign in found)
