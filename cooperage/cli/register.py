"""`cooperage add` and `cooperage upkeep`: register a vessel or a lot, and say what care a vessel gets."""

from dataclasses import replace
from typing import Any

import click

from cooperage.book import Barrel, Lot, Vessel
from cooperage.cli.desk import json_option, open_book, open_or_create_book, plain, print_json, settings
from cooperage.units import Quantity, read, read_volume


@click.group("add")
def add_command() -> None:
    """Register a vessel or a lot."""


@add_command.command("vessel")
@click.argument("tag")
@click.option("--kind", type=click.Choice(["barrel", "tank", "keg", "demijohn"]), default="barrel", show_default=True)
@click.option("--capacity", required=True, help="What it holds, such as 225 l or 59 gal.")
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
@click.option("--past-kind", type=click.Choice(["none", "wine", "fortified", "spirit", "beer", "other"]))
@click.option("--fills-before", type=click.IntRange(min=0), help="Left out, the fills before it came are unknown.")
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
        barrel=Barrel(**known) if kind == "barrel" else None,
    )
    with open_or_create_book(ctx).writing() as session:
        session.add_vessel(vessel)
    click.echo(f"registered {tag}")


@add_command.command("lot")
@click.argument("code")
@click.option("--name", default="")
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
    name: str,
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
        name=name or code,
        honey=honey,
        original_sg=_figure(Quantity.GRAVITY, original_sg),
        final_sg=_figure(Quantity.GRAVITY, final_sg),
        abv=_figure(Quantity.STRENGTH, abv),
        cost_per_l=cost_per_l,
        note=note,
    )
    with open_or_create_book(ctx).writing() as session:
        session.add_lot(lot)
    click.echo(f"registered {code}")


def _figure(quantity: Quantity, text: str | None) -> float | None:
    return None if text is None else float(read(quantity, text, settings().units))


@click.command("upkeep")
@click.argument("tag")
@click.option("--topping", type=click.Choice(["interval", "level", "opened", "never"]), help="When it is topped.")
@click.option("--every", "top_every_days", type=click.IntRange(min=1), metavar="DAYS", help="Top every so many days.")
@click.option("--below", "top_below", metavar="VOLUME", help="With 'level': top when it is so much short of full.")
@click.option("--taste-every", "taste_every_days", type=click.IntRange(min=1), metavar="DAYS")
@click.option("--sulphite-every", "sulphite_every_days", type=click.IntRange(min=1), metavar="DAYS")
@click.option(
    "--sniff-every", "sniff_every_days", type=click.IntRange(min=1), metavar="DAYS", help="While it is empty."
)
@click.option("--molecular-floor", "molecular_so2_floor_mg_l", type=float, metavar="MG_L")
@click.option("--va-ceiling", "va_ceiling_g_l", type=float, metavar="G_L")
@click.option("--from", "top_from", metavar="TAG", help="The keg it is topped from.")
@json_option
@click.pass_context
def upkeep_command(ctx: click.Context, /, tag: str, as_json: bool, top_below: str | None, **given: Any) -> None:  # noqa: ANN401
    """Tell, or change, the care a vessel gets: its intervals and limits. What is not given stays as it is."""
    from cooperage.programme.upkeep import upkeep_of

    book = open_book(ctx)
    if top_below is not None:
        given["top_below_ml"] = read_volume(top_below, settings().units)
    changed = {name: value for name, value in given.items() if value is not None}
    if changed:
        with book.writing() as session:
            session.set_upkeep(tag, replace(session.registry.vessel(tag).upkeep, **changed))
    care = upkeep_of(book.cellar()[tag])
    if as_json:
        print_json(care)
        return
    for name, value in plain(care).items():
        click.echo(f"{name:<26} {'' if value is None else value}")
