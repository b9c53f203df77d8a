"""`calc` with liquids poured together: mixtures, and doses of honey, water and spirit."""

from typing import Any

import click
import numpy as np

from cooperage.cli.calc.desk import (
    MASS,
    NUMBER,
    PERCENT,
    STRENGTH,
    SUGAR,
    TEMPERATURE,
    VOLUME,
    CannotCalculate,
    Handled,
    TypedFigure,
    calculate,
    calculate_each,
    find_only_given,
    option,
    print_result,
    strengths_in,
)
from cooperage.cli.shared.command import command
from cooperage.cli.shared.command import option as declared_option
from cooperage.cli.shared.desk import json_option
from cooperage.liquid import (
    Estimate,
    Mixture,
    density_of,
    dose_for_abv,
    dose_for_extract,
    honey_kg_for_extract,
    honey_moisture,
    honey_stream,
    mix,
    sg_from_density,
    tabarie_documented,
)

KEEPS_BELOW = 18.0  # g water per 100 g of honey; common practice, no source


@command("mix", "cooperage calc mix --stream 225l 13.5 60 --stream 10l 96 0")
@click.option(
    "--stream",
    "streams",
    type=(VOLUME, STRENGTH, SUGAR),
    multiple=True,
    required=True,
    metavar="VOLUME STRENGTH SUGAR",
    help="A liquid that is poured in; repeat for each.",
)
@json_option
def mix_command(streams: tuple[tuple[TypedFigure, TypedFigure, TypedFigure], ...], as_json: bool) -> None:
    """Calculate the true volume, strength and sweetness of liquids poured together.

    Source: mass, ethanol and extract are conserved; density by OIML R 22 (1975), ICUMSA SPS-4 (1990) and Tabarié's rule
    (OIV-MA-AS2-03B).
    """
    figures = [figure for stream in streams for figure in stream]

    def poured(*given: Any) -> Mixture:  # noqa: ANN401 - figures or arrays
        return mix(*(np.stack(np.broadcast_arrays(*given[place::3]), axis=-1) for place in range(3)))

    found = calculate_each(poured, *figures)
    found["contraction_l"] = found.pop("contraction")
    found["sg"] = calculate(lambda *given: _sg(poured(*given)), *figures)
    handled = Handled((*strengths_in(found), *(abv.value for _, abv, _ in streams)))
    print_result(found, as_json=as_json, notes=_tabarie_note(found), handled=handled)


def _sg(mead: Mixture) -> Any:  # noqa: ANN401 - a figure or an array
    return sg_from_density(density_of(mead.abv, mead.extract_g_l))


def _tabarie_note(found: dict[str, Estimate]) -> list[str]:
    if tabarie_documented(found["abv"].value, found["extract_g_l"].value):
        return []
    return ["so sweet or strong a liquid lies outside where Tabarié's rule for its density was tried"]


@command(
    "adjust",
    "cooperage calc adjust 225l 14.2 60 --to-strength 13.5",
    "cooperage calc adjust 225l 12 60 --with 96 0 --to-strength 13.5 --json",
)
@click.argument("litres", metavar="VOLUME", type=VOLUME, help="Volume there is, such as 225 L.")
@click.argument("abv", metavar="STRENGTH", type=STRENGTH, help="Its strength, such as 14.2 (% vol).")
@click.argument("extract", metavar="SUGAR", type=SUGAR, help="Its sweetness, such as 60 (g/L).")
@click.option(
    "--with",
    "stock",
    type=(STRENGTH, SUGAR),
    default=("0", "0"),
    metavar="STRENGTH SUGAR",
    help="What is added (default: water); spirit is 96 0.",
)
@option("--to-strength", reads=STRENGTH, about="Strength to reach, such as 13.5.")
@option("--to-sugar", reads=SUGAR, about="Sweetness to reach, such as 60 g/L.")
@json_option
def adjust_command(
    litres: TypedFigure,
    abv: TypedFigure,
    extract: TypedFigure,
    stock: tuple[TypedFigure, TypedFigure],
    to_strength: TypedFigure | None,
    to_sugar: TypedFigure | None,
    as_json: bool,
) -> None:
    """Calculate how much water, spirit or syrup brings a mead to a strength or a sweetness.

    Source: mass, ethanol and extract are conserved; density by OIML R 22 (1975), ICUMSA SPS-4 (1990) and Tabarié's rule
    (OIV-MA-AS2-03B).
    """
    wanted = {"to_strength": to_strength, "to_sugar": to_sugar}
    name = find_only_given(**wanted)
    dose = dose_for_abv if name == "to_strength" else dose_for_extract
    target = wanted[name] or TypedFigure(0.0)
    figures = (litres, abv, extract, *stock)
    added = calculate(dose, *figures, TypedFigure(target.value))  # what is wanted is exact

    def blended(v: Any, a: Any, x: Any, stock_a: Any, stock_x: Any) -> Mixture:  # noqa: ANN401 - figures or arrays
        return mix([v, added.value], [a, stock_a], [x, stock_x])

    found = {"stock_l": added, **calculate_each(blended, *figures, only=("litres", "abv", "extract_g_l"))}
    handled = Handled((*strengths_in(found), abv.value, stock[0].value), sweetens=stock[1].value > 0.0)
    print_result(found, as_json=as_json, handled=handled)


@command(
    "honey",
    "cooperage calc honey --index 1.494 --mass 10kg",
    "cooperage calc honey --moisture 17% --mead 100l 12 50 --to-sugar 60",
)
@option("--moisture", reads=PERCENT, about="Water in the honey, by mass.")
@option("--index", reads=NUMBER, about="Refractive index, in place of --moisture.")
@option("--at", reads=TEMPERATURE, about="Temperature of the liquid and the prism.", default="20 c", show_default=True)
@option("--mass", reads=MASS, about="Honey there is, such as 10 kg; shown as a liquid to mix.")
@declared_option(
    "--mead",
    "into",
    type=(VOLUME, STRENGTH, SUGAR),
    default=None,
    metavar="VOLUME STRENGTH SUGAR",
    formerly=("--into",),
    help="A mead to sweeten, with --to-sugar.",
)
@option("--to-sugar", reads=SUGAR, about="Sweetness to reach, such as 60 g/L.")
@json_option
def honey_command(
    moisture: TypedFigure | None,
    index: TypedFigure | None,
    at: TypedFigure,
    mass: TypedFigure | None,
    into: tuple[TypedFigure, TypedFigure, TypedFigure] | None,
    to_sugar: TypedFigure | None,
    as_json: bool,
) -> None:
    """Calculate the moisture of honey, what it brings to a must, and how much sweetens a mead.

    Source: Wedmore, Bee World 36:197 (1955), with the temperature of the International Honey Commission's harmonised
    methods; solids as sugar by ICUMSA SPS-4 (1990).
    """
    if (into is None) != (to_sugar is None):
        raise CannotCalculate("--mead and --to-sugar belong together")
    water = _moisture(moisture, index, at)
    found = {"moisture": water}
    figure = TypedFigure(float(water.value), float(water.standard_uncertainty))
    if mass is not None:
        found |= calculate_each(lambda g, m: honey_stream(g / 1000.0, m), mass, figure, only=("litres", "extract_g_l"))
    if into is not None and to_sugar is not None:
        wanted = to_sugar.value
        found["honey_kg"] = calculate(lambda v, a, x, m: honey_kg_for_extract(v, a, x, m, wanted), *into, figure)
    handled = None if into is None else Handled((into[1].value,), sweetens=True)
    print_result(found, as_json=as_json, notes=_keeping(float(water.value)), handled=handled)


def _moisture(moisture: TypedFigure | None, index: TypedFigure | None, at: TypedFigure) -> Estimate:
    if find_only_given(moisture=moisture, index=index) == "moisture":
        return calculate(lambda water: water, moisture or TypedFigure(0.0))
    return calculate(honey_moisture, index or TypedFigure(0.0), at)


def _keeping(moisture: float) -> list[str]:
    does = "keeps" if moisture < KEEPS_BELOW else "may ferment by itself"
    return [f"such honey {does}: the line is drawn near {KEEPS_BELOW:g} % of water (common practice, no source)"]
