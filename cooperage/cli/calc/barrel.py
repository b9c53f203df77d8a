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
from cooperage.cli.shared.command import WordChoice, command
from cooperage.cli.shared.command import option as declared_option
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
    "ethanol's passage through oak relative to water is poorly known; so is the humidity at which strength stays "
    "constant: accounts of cellars differ from 65 to 80 %"
)
DIPSTICK_MM = 2.0  # standard uncertainty of a dip for which none is given; common practice, no source

capacity_option = option(
    "--capacity", reads=VOLUME, about="Full to the brim, such as 225 L or 59 gal; the usual shape is taken."
)
inside_option = click.option(
    "--inside",
    type=(LENGTH, LENGTH, LENGTH),
    default=None,
    metavar="BUNG HEAD LENGTH",
    help="Measured inside, in place of --capacity: diameter at the bung, at the heads, and length between them.",
)


def _shape(capacity: TypedFigure | None, inside: tuple[TypedFigure, TypedFigure, TypedFigure] | None) -> BarrelShape:
    if inside is not None:
        return BarrelShape(*(np.asarray(each.value) for each in inside))
    if capacity is None:
        raise CannotCalculate("give the barrel's --capacity, or its measures by --inside")
    return barrel_shape(capacity.value)


def _dip(given: TypedFigure) -> TypedFigure:
    return given if given.spread else TypedFigure(given.value, DIPSTICK_MM)


@command(
    "headspace",
    "cooperage calc headspace 40mm --capacity 225l",
    "cooperage calc headspace --missing 3l --capacity 225l --json",
)
@click.argument("dip", type=LENGTH, required=False, metavar="[DIP]", help="Dry depth under the bung, such as 40 mm.")
@capacity_option
@inside_option
@click.option("--standing", is_flag=True, help="Barrel stands on its head; DIP is the depth of mead.")
@option("--missing", reads=VOLUME, about="Volume missing, in place of DIP: shows the dip to expect.")
@json_option
def headspace_command(
    dip: TypedFigure | None,
    capacity: TypedFigure | None,
    inside: tuple[TypedFigure, TypedFigure, TypedFigure] | None,
    standing: bool,
    missing: TypedFigure | None,
    as_json: bool,
) -> None:
    """Calculate what is missing from a lying barrel by the dry depth under its bung.

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


@command("tank", "cooperage calc tank 1200mm --diameter 1000mm --cone 150mm")
@click.argument("wet", type=LENGTH, metavar="DEPTH", help="Depth of mead, such as 1200 mm.")
@option("--diameter", reads=LENGTH, about="Inside diameter of the tank.", required=True)
@option("--cone", reads=LENGTH, about="Height of a conical bottom.", default="0 mm", show_default=True)
@json_option
def tank_command(wet: TypedFigure, diameter: TypedFigure, cone: TypedFigure, as_json: bool) -> None:
    """Calculate what is in an upright round tank by the depth of mead.

    Source: the volumes of a cylinder and of a cone.
    """
    print_result({"held_l": calculate(tank_litres, _dip(wet), diameter, cone)}, as_json=as_json)


@command("evaporation", "cooperage calc evaporation 225l --strength 13.5 --sugar 60 --days 365 --at 15c --humidity 70%")
@click.argument("litres", metavar="VOLUME", type=VOLUME, help="Volume in the barrel, and its capacity unless given.")
@option("--strength", "abv", reads=STRENGTH, about="Strength of the liquid.", required=True)
@option("--sugar", "extract", reads=SUGAR, about="Sweetness of the liquid, such as 60 g/L.", required=True)
@option("--days", reads=NUMBER, about="Days that pass.", required=True)
@option("--at", reads=TEMPERATURE, about="Temperature of the liquid; the room is taken to be as warm.", required=True)
@option("--humidity", reads=PERCENT, about="Relative humidity of the room.", required=True)
@capacity_option
@inside_option
@option("--stave", reads=LENGTH, about="Thickness of the staves.", default="27 mm", show_default=True)
@option("--lost", reads=VOLUME, about="Loss measured over those days, to fit the wood of this barrel.")
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
    """Calculate the angels' share: what an untouched barrel loses, and how its strength and sweetness change.

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


@command(
    "wood",
    "cooperage calc wood --days 200 --fill 2",
    "cooperage calc wood --days 200 --fill 2 --group vanillin --panel 120 1 6 --json",
)
@option("--days", reads=NUMBER, about="Days that pass.", required=True)
@option("--fill", reads=COUNT, about="1 for new wood, 2 for the second fill, ...", required=True)
@option(
    "--capacity", reads=VOLUME, about="Full to the brim, such as 225 L or 59 gal.", default="225 L", show_default=True
)
@click.option(
    "--group", type=WordChoice(MARKERS), metavar="GROUP", help=f"One group of compounds: {', '.join(MARKERS)}."
)
@declared_option(
    "--panel",
    "scored",
    formerly=("--scored",),
    type=(NUMBER, COUNT, NUMBER),
    multiple=True,
    metavar="DAYS FILL SCORE",
    help="Score your own panel gave a barrel of this size; the answer is then in scores. Needs --group.",
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
    """Estimate what oak has given so far, in percent of what a new 225 L barrel gives in the long run. A guide only.

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
        key = unit.replace("%", "percent")
        groups = {
            name: {f"value_{key}": each.percent, f"low_{key}": each.low, f"high_{key}": each.high}
            for name, each in given.items()
        }
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
