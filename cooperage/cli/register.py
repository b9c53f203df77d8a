"""`cooperage add`: register a vessel or a lot."""

from typing import Any

import click

from cooperage.book import Barrel, Lot, Vessel
from cooperage.book.store.registry import PAST_KINDS, VESSEL_KINDS
from cooperage.cli.shared.desk import open_or_create_book, settings
from cooperage.units import Quantity, read, read_volume


@click.group("add")
def add_command() -> None:
    """Register a vessel or a lot."""


@add_command.command("vessel")
@click.argument("tag")
@click.option("--kind", type=click.Choice(VESSEL_KINDS), default="barrel", show_default=True)
@click.option("--capacity", required=True, help="What it holds, such as 225 L or 59 gal.")
@click.option("--measured", is_flag=True, help="The capacity was measured, not only named.")
@click.option("--room")
@click.option("--row")
@click.option("--bay", type=int)
@click.option("--tier", type=int)
@click.option("--wood")
@click.option("--forest", help="Forest or country of the wood.")
@click.option("--cooper")
@click.option("--toast", "toast_staves")
@click.option("--past-life", help="What it held before it came.")
@click.option("--past-kind", type=click.Choice(PAST_KINDS))
@click.option("--fills-before", type=int, help="Left out, the fills before it came are unknown.")
@click.option("--note", default="")
@click.pass_context
def add_vessel(
    ctx: click.Context,
    /,
    tag: str,
    kind: str,
    capacity: str,
    measured: bool,
    note: str,
    **known: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Register a barrel, tank, keg or demijohn; what is left out is unknown."""
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
    with open_or_create_book(ctx).writing() as session:
        registered = session.add_vessel(vessel)
    click.echo(f"registered {registered.tag}")


@add_command.command("lot")
@click.argument("code")
@click.option("--name", help="Left out, it is called by its code.")
@click.option("--honey")
@click.option("--original-gravity", "original_sg")
@click.option("--final-gravity", "final_sg")
@click.option("--strength", "abv")
@click.option("--cost-per-litre", "cost_per_l", type=float)
@click.option("--note", default="")
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
) -> None:
    """Register a lot of mead, to be received into a tank."""
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
    click.echo(f"registered {registered.code}")


def _figure(quantity: Quantity, text: str | None) -> float | None:
    return None if text is None else float(read(quantity, text, settings().units))
