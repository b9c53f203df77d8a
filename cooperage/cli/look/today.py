"""`cooperage today`: the day at a glance."""

import click

from cooperage.book.words import entry_line
from cooperage.cli.orders.shown import order_row, print_open
from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_cautions_once, print_json, print_table, settings
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.today.words import besides_words, carry_words, kegs_words, sure_column
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import DEFAULT, Quantity, counted, show, show_when


@command("today", "cooperage today", "cooperage today --json")
@json_option
@click.pass_context
def today_command(ctx: click.Context, as_json: bool) -> None:
    """Show the day at a glance: what is wrong, the orders, the walk by room, what to carry, the last entry."""
    book = open_book(ctx)
    cellar = cellar_now(book)
    units = DEFAULT if as_json else settings().units
    today = today_of(book, cellar, units)
    if as_json:
        print_json(_as_row(today))
        return
    click.echo(f"{show_when(today.at)}: {counted(today.full, 'barrel')} full, {len(today.empty)} empty")
    rows = [(sign.vessel, sign.kind, sign.why, sure_column(sign)) for sign in today.trouble]
    print_table(("look first", "", "why", "sure"), rows, empty=missing(cellar) or "Nothing is wrong.")
    if today.orders:
        click.echo()
        print_open(today.orders)
    walk = [
        (work.room or "no room", str(work.stops), show(Quantity.VOLUME, work.top_ml, units), besides_words(work))
        for work in today.rooms
    ]
    click.echo()
    print_table(("walk", "stops", "top", "besides"), walk, right=(1, 2), empty="Nothing is due today.")
    for line in (kegs_words(today, units), carry_words(today, units)):
        if line:
            click.echo(line)
    if today.last is not None:
        click.echo(f"Last entry: {entry_line(today.last, units, short=True)}")
    print_cautions_once(sign.cautions for sign in today.trouble)


def _as_row(today: Today) -> dict[str, object]:
    """Return the day as scripts read it."""
    return {
        "at": today.at,
        "trouble": today.trouble,
        "orders": [order_row(each.order, each) for each in today.orders],
        "walk": [
            {
                "room": work.room,
                "stops": work.stops,
                "top_l": work.top_ml / 1000,
                "besides": {task.value: count for task, count in work.besides.items()},
            }
            for work in today.rooms
        ],
        "kegs": [{"keg": k.tag, "gives_l": k.gives_ml / 1000, "holds_l": k.holds_ml / 1000} for k in today.kegs],
        "metabisulphite": {"barrels": today.low, "mass_g": round(today.sulphite_g, 1)},
        "full": today.full,
        "empty": today.empty,
        "last_entry": None if today.last is None else today.last.id,
    }
