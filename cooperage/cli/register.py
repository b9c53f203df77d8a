"""`cooperage add`: register a vessel or a lot."""

from typing import Any

import click

from cooperage.book import Barrel, Lot, Vessel
from cooperage.book.store.registry import PAST_KINDS, VESSEL_KINDS, tidied_vessel
from cooperage.book.writing.doubts import ask_of_capacity
from cooperage.cli.shared.command import CommandGroup, WordChoice, command, option
from cooperage.cli.shared.complete import ROOMS
from cooperage.cli.shared.desk import json_option, note_option, open_or_create_book, print_json, settings, sure_option
from cooperage.units import Quantity, read, read_volume

add_command = CommandGroup(
    "add",
    help="Register a vessel or a lot.",
    examples=("cooperage add vessel B-201 --capacity 225l --wood 'sessile oak'",),
)


@command(
    "vessel",
    "cooperage add vessel T-20 --kind tank --capacity 1000l --measured",
    "cooperage add vessel B-201 --capacity 59gal --wood 'sessile oak' --past-life 'red wine' --fills-before 2",
)
@click.argument("tag", help="Tag to be written on the vessel, such as B-201.")
@option(
    "--kind",
    type=WordChoice(VESSEL_KINDS),
    metavar="KIND",
    default="barrel",
    show_default=True,
    help=f"Kind of vessel: {', '.join(VESSEL_KINDS)}.",
)
@option("--capacity", required=True, metavar="VOLUME", help="Full to the brim, such as 225 L or 59 gal.")
@option("--measured", is_flag=True, help="Capacity was measured, not nominal.")
@option("--room", metavar="ROOM", shell_complete=ROOMS, help="Where it lies: cellar, loft, ...")
@option("--row", metavar="ROW", help="Row in the room, such as A.")
@option("--bay", type=int, metavar="NUMBER", help="Place along the row, counted from 1.")
@option("--tier", type=int, metavar="NUMBER", help="Height in the stack, 1 at the floor.")
@option("--wood", metavar="WOOD", help="Species, such as 'sessile oak'.")
@option("--forest", metavar="TEXT", help="Forest or country the wood came from.")
@option("--cooper", metavar="TEXT", help="Who made the barrel.")
@option("--toast", "toast_staves", metavar="TEXT", help="Toast of the staves: light, medium, heavy, ...")
@option("--past-life", metavar="TEXT", help="What was in it before you bought it, such as 'red wine'.")
@option(
    "--past-kind",
    type=WordChoice(PAST_KINDS),
    metavar="KIND",
    help=f"The same as a class, for cautions and wood: {', '.join(PAST_KINDS)}.",
)
@option("--fills-before", type=int, metavar="NUMBER", help="Fills before purchase; omit if unknown.")
@note_option
@sure_option
@json_option
@click.pass_context
def add_vessel(
    ctx: click.Context,
    /,
    tag: str,
    kind: str,
    capacity: str,
    measured: bool,
    note: str,
    sure: bool,
    as_json: bool,
    **known: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Register a barrel, tank, keg or demijohn. Whatever you omit stays unknown, which is not zero."""
    position = tuple(known.pop(name) for name in ("room", "row", "bay", "tier"))
    vessel = Vessel(
        id="",
        tag=tag,
        kind=kind,
        capacity_ml=read_volume(capacity, settings().units),
        capacity_how="measured" if measured else "nominal",
        position=position,
        note=note,
        barrel=Barrel(**known),
    )
    if not sure:
        ask_of_capacity(tidied_vessel(vessel))
    with open_or_create_book(ctx).writing() as session:
        registered = session.add_vessel(vessel)
    if as_json:
        capacity_l = registered.capacity_ml / 1000
        about = {"id": registered.id, "tag": registered.tag, "kind": registered.kind}
        print_json(about | {"capacity_l": capacity_l, "litres": 0.0})
        return
    click.echo(f"registered {registered.tag}")


@command(
    "lot",
    "cooperage add lot HEATHER-26 --original-gravity 1.118 --final-gravity 1.022 --cost-per-litre 6.20",
    "cooperage add lot LIME-26 --name 'Lime blossom 2026' --honey lime-blossom --strength 13.1 --json",
)
@click.argument("code", help="Code of the batch, such as HEATHER-26.")
@option("--name", metavar="TEXT", help="Name in full (default: the code).")
@option("--honey", metavar="TEXT", help="Honey it was made from, such as heather.")
@option("--original-gravity", "original_sg", metavar="GRAVITY", help="Before fermentation, such as 1.118 or 27 Bx.")
@option("--final-gravity", "final_sg", metavar="GRAVITY", help="After fermentation, such as 1.022.")
@option("--strength", "abv", metavar="STRENGTH", help="Measured, such as 13.5 (% vol) or 27 proof.")
@option("--cost-per-litre", "cost_per_l", type=float, metavar="MONEY", help="What a litre has cost so far.")
@note_option
@json_option
@click.pass_context
def add_lot(
    ctx: click.Context,
    code: str,
    name: str | None,
    honey: str | None,
    original_sg: str | None,
    final_sg: str | None,
    abv: str | None,
    cost_per_l: float | None,
    note: str,
    as_json: bool,
) -> None:
    """Register a lot of mead, to be received into a tank by `log receive`."""
    lot = Lot(
        id="",
        code=code,
        name=code if name is None else name,
        honey=honey,
        original_sg=_figure(Quantity.GRAVITY, original_sg),
        final_sg=_figure(Quantity.GRAVITY, final_sg),
        abv=_figure(Quantity.STRENGTH, abv),
        cost_per_l=cost_per_l,
        note=note,
    )
    with open_or_create_book(ctx).writing() as session:
        registered = session.add_lot(lot)
    if as_json:
        print_json({"id": registered.id, "code": registered.code, "name": registered.name})
        return
    click.echo(f"registered {registered.code}")


def _figure(quantity: Quantity, text: str | None) -> float | None:
    return None if text is None else float(read(quantity, text, settings().units))


add_command.add_command(add_vessel)
add_command.add_command(add_lot)
