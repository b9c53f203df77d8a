"""`cooperage taste flights` and `taste leave`: the flights there are, and a taster who leaves one."""

from typing import Any

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import hand_option, json_option, open_book, print_json, print_table, settings
from cooperage.cli.taste.shown import flight_argument, flight_row
from cooperage.cli.taste.tests import difference_row
from cooperage.tasting.difference.closing import leave
from cooperage.tasting.difference.shape import DifferenceFlight
from cooperage.tasting.difference.stored import every_flight
from cooperage.tasting.flights.shape import Flight
from cooperage.units import show_day


@command("flights", "cooperage taste flights", "cooperage taste flights --json")
@json_option
@click.pass_context
def flights_command(ctx: click.Context, as_json: bool) -> None:
    """List the flights, newest first."""
    found = every_flight(open_book(ctx))
    if as_json:
        print_json([row_of(poured) for poured in found])
        return
    rows = [
        (
            p.code,
            show_day(p.poured_at),
            str(len(p.glasses)),
            ", ".join(p.panel),
            "yes" if p.revealed_at else "no",
            _named(p),
        )
        for p in found
    ]
    print_table(("flight", "poured", "glasses", "tasters", "revealed", "name"), rows, right=(2,))


def row_of(poured: Flight | DifferenceFlight) -> dict[str, Any]:
    """Return a flight of either kind as scripts read it; of one that is scored, `test` is null."""
    return difference_row(poured) if isinstance(poured, DifferenceFlight) else flight_row(poured)


def _named(poured: Flight | DifferenceFlight) -> str:
    """Return a flight's name, after its test where it is one."""
    if isinstance(poured, Flight):
        return poured.name
    return ": ".join(part for part in (poured.question.test, poured.name) if part)


@command(
    "leave",
    "cooperage taste leave F-4 Tove   # refused: F-4 is revealed",
    "cooperage taste leave F-4 Tove --hand Maren --json   # refused: F-4 is revealed",
)
@flight_argument
@click.argument("taster", metavar="TASTER", help="Who leaves.")
@hand_option
@json_option
@click.pass_context
def leave_command(ctx: click.Context, code: str, taster: str, hand: str | None, as_json: bool) -> None:
    """Write that a taster left before the end; the flight can be revealed then, and shows it. What was given stays."""
    poured = leave(open_book(ctx), code, taster, hand=hand or settings().hand)
    name = poured.taster_named(taster)
    if as_json:
        print_json({"flight": poured.code, "taster": name, "at": poured.departed[name]})
    else:
        click.echo(
            f"{name} left {poured.code}, which waits for {name} no more; who gives more after all is asked first"
        )
