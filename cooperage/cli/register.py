"""`cooperage add`: register vessels or a lot."""

from typing import Any

import click

from cooperage.book import Vessel
from cooperage.book.declared.from_text import BadField
from cooperage.cli.shared.asking import BadOption, asking, texts_of
from cooperage.cli.shared.command import CommandGroup, command, option
from cooperage.cli.shared.desk import json_option, note_option, open_or_create_book, print_json, settings, sure_option
from cooperage.programme.upkeep.registering import (
    OF_LOT,
    OF_VESSEL,
    parse_lot,
    parse_vessels,
    register_lot,
    register_vessels,
)

add_command = CommandGroup(
    "add",
    help="Register vessels or a lot.",
    examples=("cooperage add vessel B-201 --capacity 225l --wood 'sessile oak'",),
    aliases={"barrel": "vessel", "vessels": "vessel"},
)


_hand_option = option("--hand", "hand", metavar="NAME", help="Who registers it (default: the name in your settings).")


@asking(OF_VESSEL)
@command(
    "vessel",
    "cooperage add vessel T-20 --kind tank --capacity 1000l --measured",
    "cooperage add vessel B-201 --capacity 59gal --wood 'sessile oak' --past-life 'red wine' --fills-before 2",
    "cooperage add vessel B-211..B-218 --capacity 225l --room Loft --row C --bay 1",
)
@_hand_option
@note_option
@sure_option
@json_option
@click.pass_context
def add_vessel(
    ctx: click.Context,
    /,
    hand: str | None,
    note: str,
    sure: bool,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Register a barrel, tank, keg or demijohn, or several: all of them, or none.

    Whatever you omit stays unknown, which is not zero.
    """
    try:
        vessels = parse_vessels(texts_of(OF_VESSEL, given) | {"note": note}, settings().units)
    except BadField as error:
        raise BadOption(OF_VESSEL, error) from error
    registered = register_vessels(open_or_create_book(ctx), vessels, hand=hand or settings().hand, sure=sure)
    if as_json:
        print_json(_about(registered[0]) if len(registered) == 1 else [_about(vessel) for vessel in registered])
        return
    for vessel in registered:
        click.echo(f"registered {vessel.tag}")


def _about(vessel: Vessel) -> dict[str, Any]:
    about = {"id": vessel.id, "tag": vessel.tag, "kind": vessel.kind}
    return about | {"capacity_l": vessel.capacity_ml / 1000, "litres": 0.0}


@asking(OF_LOT)
@command(
    "lot",
    "cooperage add lot HEATHER-26 --original-gravity 1.118 --final-gravity 1.022 --cost-per-litre 6.20",
    "cooperage add lot LIME-26 --name 'Lime blossom 2026' --honey lime-blossom --strength 13.1 --json",
)
@_hand_option
@note_option
@json_option
@click.pass_context
def add_lot(
    ctx: click.Context,
    /,
    hand: str | None,
    note: str,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Register a lot of mead, to be received into a tank by `log receive`."""
    try:
        lot = parse_lot(texts_of(OF_LOT, given) | {"note": note}, settings().units)
    except BadField as error:
        raise BadOption(OF_LOT, error) from error
    registered = register_lot(open_or_create_book(ctx), lot, hand=hand or settings().hand)
    if as_json:
        print_json({"id": registered.id, "code": registered.code, "name": registered.name})
        return
    click.echo(f"registered {registered.code}")


add_command.add_command(add_vessel)
add_command.add_command(add_lot)
