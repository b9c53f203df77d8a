"""`cooperage taste flights` and `taste start`: the flights there are, and a new one."""

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import TAGS, tag_argument
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table
from cooperage.cli.taste.shown import flight_row, glasses_opened, print_to_pour
from cooperage.tasting.flights.pouring import start_flight
from cooperage.tasting.flights.stored import flights
from cooperage.units import show_day


@command("flights", "cooperage taste flights", "cooperage taste flights --json")
@json_option
@click.pass_context
def flights_command(ctx: click.Context, as_json: bool) -> None:
    """List the flights, newest first."""
    found = flights(open_book(ctx))
    if as_json:
        print_json([flight_row(poured) for poured in found])
        return
    rows = [
        (
            p.code,
            show_day(p.poured_at),
            str(len(p.glasses)),
            ", ".join(p.panel),
            "yes" if p.revealed_at else "no",
            p.name,
        )
        for p in found
    ]
    print_table(("flight", "poured", "glasses", "tasters", "revealed", "name"), rows, right=(2,))


@command(
    "start",
    "cooperage taste start B-001 B-002 B-003",
    "cooperage taste start B-010 B-011 B-012 --code SPRING --name 'spring panel' --duplicate --json",
    "cooperage taste start B-010 B-011 --attribute honey --attribute 'oak=0-100 mm' --taster Iko --taster Tove",
)
@tag_argument("tags", nargs=-1, required=True, metavar="TAG...", help="Tags of the vessels to taste.")
@option("--code", metavar="FLIGHT", default="", help="Code for the flight (default: made from the date).")
@option("--name", metavar="TEXT", default="", help="What the tasting is about.")
@option("--scale", metavar="LOW-HIGH", default="0-20", show_default=True, help="Lowest and highest score.")
@option(
    "--attribute",
    "attributes",
    multiple=True,
    metavar="NAME[=VALUE]",
    help="Scored beside the overall score, as honey, or oak=0-20 for a scale of its own; repeat it for more.",
)
@option("--taster", "tasters", multiple=True, metavar="NAME", help="Who tastes; each gets an order of their own.")
@option("--duplicate", is_flag=True, help="Pour one sample twice, to check each taster's repeatability.")
@option(
    "--control", metavar="TAG", default="", shell_complete=TAGS, help="Vessel poured once more, as a hidden control."
)
@option(
    "--reference",
    metavar="TAG",
    default="",
    shell_complete=TAGS,
    help="Vessel poured once more, as a reference that is tasted first.",
)
@json_option
@click.pass_context
def start_command(
    ctx: click.Context,
    tags: tuple[str, ...],
    code: str,
    name: str,
    scale: str,
    attributes: tuple[str, ...],
    tasters: tuple[str, ...],
    duplicate: bool,
    control: str,
    reference: str,
    as_json: bool,
) -> None:
    """Pour a flight of these vessels in random order, blind-coded."""
    poured = start_flight(
        open_book(ctx),
        tags,
        code=code,
        name=name,
        scale=scale,
        hidden_duplicate=duplicate,
        attributes=attributes,
        tasters=tasters,
        control=control,
        reference=reference,
    )
    if as_json:
        print_json(flight_row(poured) | {"to_pour": glasses_opened(poured)})
        return
    print_to_pour(poured)
