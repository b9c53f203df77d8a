"""`calc` for the wood: levels by dip, the angels' share, and what oak gives."""

from typing import cast, get_args

import click
import numpy as np

from cooperage.cli.calc.desk import (
    COUNT,
    LENGTH,
    NUMBER,
    PERCENT,
    STRENGTH,
    SUGAR,
    TEMPERATURE,
    VOLUME,
    CannotCalculate,
    TypedFigure,
    calculate,
    calculate_each,
    option,
    print_result,
    source,
)
from cooperage.cli.shared.desk import json_option, print_json, print_table, settings
from cooperage.liquid import (
    BarrelShape,
    Estimate,
    balance_humidity,
    barrel_area_m2,
    barrel_litres,
    barrel_shape,
    evaporation,
    fitted_permeability,
    headspace_mm,
    standing_litres,
    tank_litres,
    ullage_litres,
    wood_extraction,
    wood_scale,
)
from cooperage.liquid.angels_share import PERMEABILITY, PERMEABILITY_SPREAD, SELECTIVITY, SELECTIVITY_SPREAD
from cooperage.liquid.wood import MARKERS, MarkerGroup
from cooperage.units import Quantity, show

ETHANOL_CAVEAT = (
    "how much less readily than water ethanol passes oak is poorly known, and with it the humidity at which strength "
    "stands still; accounts of cellars differ from 65 to 80 %"
)
DIPSTICK_MM = 2.0  # standard uncertainty of a dip for which none is given; common practice, no source

capacity_option = option("--capacity", reads=VOLUME, about="What the barrel holds; its shape is then the usual one.")
inside_option = click.option(
    "--inside",
    type=(LENGTH, LENGTH, LENGTH),
    default=None,
    metavar="BUNG HEAD LENGTH",
    help="Or measured inside: diameter at the bung, at the heads, and length between them.",
)


def _shape(capacity: TypedFigure | None, inside: tuple[TypedFigure, TypedFigure, TypedFigure] | None) -> BarrelShape:
    if inside is not None:
        return BarrelShape(*(np.asarray(each.value) for each in inside))
    if capacity is None:
        raise CannotCalculate("give the barrel's --capacity, or its measures by --inside")
    return barrel_shape(capacity.value)


def _dip(given: TypedFigure) -> TypedFigure:
    return given if given.spread else TypedFigure(given.value, DIPSTICK_MM)


@click.command("headspace")
@click.argument("dip", type=LENGTH, required=False, metavar="[DIP]")
@capacity_option
@inside_option
@click.option("--standing", is_flag=True, help="The barrel stands on its head, and DIP is the depth of mead.")
@option("--missing", reads=VOLUME, about="Instead of a dip: litres missing, to tell the dip to expect.")
@json_option
def headspace_command(
    dip: TypedFigure | None,
    capacity: TypedFigure | None,
    inside: tuple[TypedFigure, TypedFigure, TypedFigure] | None,
    standing: bool,
    missing: TypedFigure | None,
    as_json: bool,
) -> None:
    """Litres missing from a lying barrel by the dry depth under its bung: 40mm --capacity 225l.

    A dip is taken to be good to 2 mm unless typed otherwise, "40±1 mm".

    Source: exact integration over parabolic staves, the classic formula for casks; usual inside sizes are common
    practice.
    """
    if (dip is None) == (missing is None) or (standing and missing is not None):
        raise CannotCalculate("give either a dip or, for a lying barrel, --missing")
    shape = _shape(capacity, inside)
    known = np.nan if capacity is None else capacity.value
    found = _level(shape, known, dip, missing, standing=standing)
    notes = [] if inside else ["by the usual shape of such a barrel: expect 3 % more or less in the litres"]
    print_result(found, as_json=as_json, notes=notes)


def _level(
    shape: BarrelShape, capacity: float, dip: TypedFigure | None, missing: TypedFigure | None, *, standing: bool
) -> dict[str, Estimate]:
    whole = float(barrel_litres(*shape)) if np.isnan(capacity) else capacity
    if dip is None:
        gap = missing or TypedFigure(0.0)
        return {"headspace_mm": calculate(lambda litres: headspace_mm(litres, *shape, capacity), gap)}
    if standing:
        held = calculate(lambda mm: standing_litres(mm, *shape, capacity), _dip(dip))
        return {
            "held_l": held,
            "missing_l": calculate(lambda mm: whole - standing_litres(mm, *shape, capacity), _dip(dip)),
        }
    lost = calculate(lambda mm: ullage_litres(mm, *shape, capacity), _dip(dip))
    return {"missing_l": lost, "held_l": calculate(lambda mm: whole - ullage_litres(mm, *shape, capacity), _dip(dip))}


@click.command("tank")
@click.argument("wet", type=LENGTH, metavar="DEPTH")
@option("--diameter", reads=LENGTH, about="Inside.", required=True)
@option("--cone", reads=LENGTH, about="Height of a conical bottom.", default="0 mm", show_default=True)
@json_option
def tank_command(wet: TypedFigure, diameter: TypedFigure, cone: TypedFigure, as_json: bool) -> None:
    """Litres in an upright round tank by the depth of mead: 1200mm --diameter 1000mm.

    Source: the volumes of a cylinder and of a cone.
    """
    print_result({"held_l": calculate(tank_litres, _dip(wet), diameter, cone)}, as_json=as_json)


@click.command("evaporation")
@click.argument("litres", metavar="VOLUME", type=VOLUME)
@option("--strength", "abv", reads=STRENGTH, about="Strength of the mead.", required=True)
@option("--sugar", "extract", reads=SUGAR, about="Its sweetness.", required=True)
@option("--days", reads=NUMBER, about="How long it is left alone.", required=True)
@option("--at", reads=TEMPERATURE, about="Temperature of mead and room.", required=True)
@option("--humidity", reads=PERCENT, about="Relative humidity of the room.", required=True)
@capacity_option
@inside_option
@option("--stave", reads=LENGTH, about="Thickness of the staves.", default="27 mm", show_default=True)
@option("--lost", reads=VOLUME, about="What this barrel lost in those days, to fit its wood.")
@json_option
def evaporation_command(
    litres: TypedFigure,
    abv: TypedFigure,
    extract: TypedFigure,
    days: TypedFigure,
    at: TypedFigure,
    humidity: TypedFigure,
    capacity: TypedFigure | None,
    inside: tuple[TypedFigure, TypedFigure, TypedFigure] | None,
    stave: TypedFigure,
    lost: TypedFigure | None,
    as_json: bool,
) -> None:
    """The angels' share: what a barrel left alone loses, and where its strength and sweetness drift.

    225l --strength 13.5 --sugar 60 --days 365 --at 15c --humidity 70%. VOLUME is taken for the barrel's capacity too,
    unless that is given.

    Source: vapour pressures by Wagner and Pruss (1993) and Perry's Handbook, ethanol's escape by Sander's Henry
    constants and van Laar's equation; what oak lets through is hardly published, and is fitted.
    """
    area = float(barrel_area_m2(*_shape(capacity or (litres if inside is None else None), inside)))
    mead = (litres, abv, extract)
    setting = (days, at, humidity, TypedFigure(area), stave)
    through, passes = TypedFigure(PERMEABILITY, PERMEABILITY_SPREAD), TypedFigure(SELECTIVITY, SELECTIVITY_SPREAD)
    known = "what oak lets through is taken as usual, half to twice as much may be true: fit it by --lost"
    if lost is not None:
        fitted = calculate(fitted_permeability, lost, *mead, *setting, passes)
        through = TypedFigure(float(fitted.value), float(fitted.standard_uncertainty))
        known = "what this oak lets through is fitted to what was lost"
    found = calculate_each(evaporation, *mead, *setting, through, passes)
    found["balance_humidity"] = calculate(balance_humidity, abv, extract, at, passes)
    found["permeability"] = calculate(lambda wood: 1e12 * wood, through)
    print_result(found, as_json=as_json, notes=[known, ETHANOL_CAVEAT])


@click.command("wood")
@option("--days", reads=NUMBER, about="Days in the wood.", required=True)
@option("--fill", reads=COUNT, about="1 for new wood, 2 for the second fill, ...", required=True)
@option("--capacity", reads=VOLUME, about="Size of the barrel.", default="225 L", show_default=True)
@click.option("--group", type=click.Choice(list(MARKERS)), help="One group of compounds only.")
@click.option(
    "--scored",
    type=(NUMBER, COUNT, NUMBER),
    multiple=True,
    metavar="DAYS FILL SCORE",
    help="What your own panel gave a barrel of this size, to be answered in such scores; needs --group.",
)
@json_option
def wood_command(
    days: TypedFigure,
    fill: TypedFigure,
    capacity: TypedFigure,
    group: str | None,
    scored: tuple[tuple[TypedFigure, TypedFigure, TypedFigure], ...],
    as_json: bool,
) -> None:
    """What oak may have given so far, in percent of what a new 225 L barrel gives in the long run. A guide only.

    Source: shape by PMID 12926895, spread between barrels of one lot by Am. J. Enol. Vitic. 47:17 (1996); time
    constants and what each fill leaves are common practice, no source. Nothing is published for mead.
    """
    if scored and group is None:
        raise CannotCalculate("scores belong to one --group of compounds")
    size = 1e4 * float(barrel_area_m2(*barrel_shape(capacity.value))) / capacity.value  # cm2 per litre
    chosen = [cast(MarkerGroup, group)] if group else list(get_args(MarkerGroup))
    unit, scale = "%", 1.0
    if scored:
        unit, scale = "points", _points_per_percent(scored, chosen[0], size)
    given = {name: wood_extraction(days.value, fill.value, name, size, scale) for name in chosen}
    caveat = given[chosen[0]].caveat
    if as_json:
        groups = {name: {"value": each.percent, "low": each.low, "high": each.high} for name, each in given.items()}
        print_json({"groups": groups, "unit": unit, "notes": [caveat], "source": source()})
        return
    rows = [(name, *(_number(float(x)) for x in (each.percent, each.low, each.high))) for name, each in given.items()]
    print_table(("group", f"given [{unit}]", "at least", "at most"), rows, right=(1, 2, 3))
    click.echo(f"note: {caveat}")
    click.echo(f"source: {source()}")


def _points_per_percent(
    scored: tuple[tuple[TypedFigure, TypedFigure, TypedFigure], ...], group: MarkerGroup, size: float
) -> float:
    days, fills, scores = zip(*([each.value for each in barrel] for barrel in scored), strict=True)
    return float(wood_scale(wood_extraction(days, fills, group, size).percent, scores).factor)


def _number(value: float) -> str:
    return show(Quantity.NUMBER, value, settings().units, digits=1)
