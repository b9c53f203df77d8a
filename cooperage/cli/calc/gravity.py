"""`calc` with a floating instrument or a prism in hand: strength, sugar, and readings brought to 20 °C."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import click

from cooperage.cli.calc.desk import (
    BRIX,
    GRAVITY,
    NUMBER,
    STRENGTH,
    SUGAR,
    TEMPERATURE,
    CannotCalculate,
    TypedFigure,
    calculate,
    calculate_each,
    find_only_given,
    option,
    print_result,
)
from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, settings
from cooperage.liquid import (
    Estimate,
    abv_from_density,
    abv_from_gravities,
    apparent_sg,
    baume_from_sg_60_60,
    brix_from_density,
    brix_from_refractive_index,
    brix_from_sg,
    brix_from_sugar_g_l,
    correct_alcoholometer,
    correct_hydrometer,
    correct_refractometer,
    density_of,
    extract_g_l,
    final_sg,
    mass_fraction_from_abv,
    oechsle_from_sg,
    original_sg,
    potential_abv,
    sg_20_4_from_sg,
    sg_60_60_from_baume,
    sg_at_basis,
    sg_from_brix,
    sg_from_oechsle,
    sugar_g_l_from_brix,
    tabarie_documented,
    tabarie_uncertainty,
    water_density,
)
from cooperage.liquid.fermentation import BALLING_ABV
from cooperage.units import Quantity, show

SIXTY_F = (60.0 - 32.0) / 1.8  # °C
MUST_G_L = 400.0  # the end of the convention for potential strength

at_option = option("--at", reads=TEMPERATURE, about="Temperature of the liquid.", default="20 c", show_default=True)
made_for_option = option(
    "--made-for", reads=TEMPERATURE, about="Temperature the instrument was made for.", default="20 c", show_default=True
)


class _Fermented(NamedTuple):
    original_sg: Any
    final_sg: Any
    abv: Any
    extract_g_l: Any


@command(
    "strength",
    "cooperage calc strength --original 1.110 --final 1.012",
    "cooperage calc strength --density 950.2 --at 20c --json",
)
@option("--original", reads=GRAVITY, about="Gravity before fermentation.")
@option("--final", reads=GRAVITY, about="Gravity now.")
@option("--strength", "abv", reads=STRENGTH, about="Strength of the liquid, where measured.")
@option("--density", reads=NUMBER, about="Density of a spirit [kg/m3], alone with --at.")
@at_option
@json_option
def strength_command(
    original: TypedFigure | None,
    final: TypedFigure | None,
    abv: TypedFigure | None,
    density: TypedFigure | None,
    at: TypedFigure,
    as_json: bool,
) -> None:
    """Calculate strength, gravities and extract of a mead from any two of them, or a spirit's strength by density.

    Source: Balling's rule (Cutaia, Reid and Speers 2009) for the sugar fermented, Tabarié's rule (OIV-MA-AS2-03B) for
    the extract left, OIML R 22 (1975) for ethanol and water, ICUMSA SPS-4 (1990) for sugar.
    """
    if density is not None:
        find_only_given(density=density, original=original, final=final, strength=abv)
        strength = calculate(abv_from_density, density, at)
        by_mass = calculate(lambda rho, t: 100.0 * mass_fraction_from_abv(abv_from_density(rho, t)), density, at)
        print_result({"abv": strength, "mass_percent": by_mass}, as_json=as_json)
        return
    function, given = _two_of(original, final, abv)
    rule = TypedFigure(0.0, BALLING_ABV)
    plainly = function(*(each.value for each in given), 0.0, 0.0)
    method = TypedFigure(0.0, float(tabarie_uncertainty(plainly.abv, plainly.extract_g_l)))
    allowed = show(Quantity.STRENGTH, BALLING_ABV, settings().units)
    notes = [f"Balling's rule has not been tested on mead: {allowed} is allowed for it"]
    if not tabarie_documented(plainly.abv, plainly.extract_g_l):
        notes.append("so sweet or strong a mead lies outside where Tabarié's rule was tried; the uncertainty is wider")
    print_result(calculate_each(function, *given, rule, method), as_json=as_json, notes=notes)


def _two_of(
    original: TypedFigure | None, final: TypedFigure | None, abv: TypedFigure | None
) -> tuple[Callable[..., _Fermented], tuple[TypedFigure, TypedFigure]]:
    """Return what calculates a fermentation from two figures and the errors of Balling's and Tabarié's rules."""

    def made(start: Any, end: Any, strength: Any, method: Any) -> _Fermented:  # noqa: ANN401 - figures or arrays
        return _Fermented(start, end, strength, extract_g_l(end, strength) + method)

    match original, final, abv:
        case TypedFigure(), TypedFigure(), None:
            return lambda o, f, rule, method: made(o, f, abv_from_gravities(o, f) + rule, method), (original, final)
        case TypedFigure(), None, TypedFigure():
            return lambda o, a, rule, method: made(o, final_sg(o, a + rule), a, method), (original, abv)
        case None, TypedFigure(), TypedFigure():
            return lambda f, a, rule, method: made(original_sg(f, a + rule), f, a, method), (final, abv)
    raise CannotCalculate("give two of --original, --final and --strength, or a spirit's --density")


@command("sugar", "cooperage calc sugar 1.092", "cooperage calc sugar 22bx", "cooperage calc sugar --oechsle 92 --json")
@click.argument("gravity", type=GRAVITY, required=False, metavar="[GRAVITY]", help="Such as 1.092, 22 Bx or 22 Plato.")
@option("--sugar", reads=SUGAR, about="Sweetness of the liquid, such as 216 g/L.")
@option("--oechsle", reads=NUMBER, about="Reading of an Oechsle hydrometer.")
@option("--baume", reads=NUMBER, about="Reading of a Baumé hydrometer (heavy, US, 60 °F).")
@json_option
def sugar_command(
    gravity: TypedFigure | None,
    sugar: TypedFigure | None,
    oechsle: TypedFigure | None,
    baume: TypedFigure | None,
    as_json: bool,
) -> None:
    """Convert the sweetness of a must without alcohol to every scale.

    Source: ICUMSA SPS-4 (1990) for sugar in water; NBS Circular C440 (1942) for Baumé and gravity in air; 16.83 g/L to
    1 % vol by OIV-MA-AS2-02.
    """
    given = {"gravity": gravity, "sugar": sugar, "oechsle": oechsle, "baume": baume}
    name = find_only_given(**given)
    figure = given[name] or TypedFigure(0.0)
    to_brix = _TO_BRIX[name]
    if to_brix(figure.value) < 0:
        raise CannotCalculate("a must is not lighter than water; for a fermented mead use calc strength")
    found = {key: calculate(lambda x, scale=scale: scale(to_brix(x)), figure) for key, scale in _SCALES.items()}
    if found["sugar_g_l"].value <= MUST_G_L:
        found["potential_abv"] = calculate(lambda x: potential_abv(sugar_g_l_from_brix(to_brix(x))), figure)
    print_result(found, as_json=as_json)


_TO_BRIX: Mapping[str, Callable[..., Any]] = {
    "gravity": brix_from_sg,
    "sugar": brix_from_sugar_g_l,
    "oechsle": lambda oechsle: brix_from_sg(sg_from_oechsle(oechsle)),
    "baume": lambda baume: brix_from_density(sg_60_60_from_baume(baume) * water_density(SIXTY_F), SIXTY_F),
}
_SCALES: Mapping[str, Callable[..., Any]] = {
    "sg": sg_from_brix,
    "sg_20_4": lambda brix: sg_20_4_from_sg(sg_from_brix(brix)),
    "sg_in_air": lambda brix: apparent_sg(sg_from_brix(brix)),
    "kg_m3": lambda brix: density_of(0.0, sugar_g_l_from_brix(brix)),
    "brix": lambda brix: brix,
    "sugar_g_l": sugar_g_l_from_brix,
    "oechsle": lambda brix: oechsle_from_sg(sg_from_brix(brix)),
    "baume": lambda brix: baume_from_sg_60_60(sg_at_basis(brix, SIXTY_F)),
}


@command("hydrometer", "cooperage calc hydrometer 1.018 --at 64f --made-for 60f --strength 12")
@click.argument("reading", type=GRAVITY, help="As read off the stem, such as 1.018.")
@at_option
@made_for_option
@option("--strength", "abv", reads=STRENGTH, about="Strength of the liquid.", default="0", show_default=True)
@json_option
def hydrometer_command(
    reading: TypedFigure, at: TypedFigure, made_for: TypedFigure, abv: TypedFigure, as_json: bool
) -> None:
    """Correct a hydrometer reading to SG 20/20.

    Source: glass by OIML R 22 (1975); the liquid swells as sugar (ICUMSA SPS-4, 1990) and ethanol (OIML R 22) do.
    """
    corrected = calculate(correct_hydrometer, reading, at, made_for, abv)
    notes = []
    if corrected.value < 1 and not abv.value:
        notes.append("taken to swell as water; give the strength")
    print_result({"sg": corrected}, as_json=as_json, notes=notes)


@command(
    "alcoholometer",
    "cooperage calc alcoholometer 67 --at 35c",
    "cooperage calc alcoholometer 192proof --at 73f --made-for 60f",
)
@click.argument("reading", type=STRENGTH, help="As read off the stem, such as 67 (% vol) or 192 proof.")
@at_option
@made_for_option
@json_option
def alcoholometer_command(reading: TypedFigure, at: TypedFigure, made_for: TypedFigure, as_json: bool) -> None:
    """Correct a spirit's reading (no sugar) to the temperature its instrument was made for; US proof is at 60 °F.

    Source: OIML R 22 (1975), Tables VIII; 27 CFR 30.11 for proof.
    """
    print_result({"abv": calculate(correct_alcoholometer, reading, at, made_for)}, as_json=as_json)


@command(
    "refractometer", "cooperage calc refractometer 25 --at 12c", "cooperage calc refractometer --index 1.3722 --json"
)
@click.argument("reading", type=BRIX, required=False, metavar="[BRIX]", help="As read through the prism, such as 25.")
@option("--index", reads=NUMBER, about="Refractive index, in place of Brix; at 20 °C.")
@at_option
@json_option
def refractometer_command(
    reading: TypedFigure | None, index: TypedFigure | None, at: TypedFigure, as_json: bool
) -> None:
    """Calculate the sugar of a must without alcohol from a refractometer without temperature correction.

    Source: OIV-MA-AS2-02 Table I for temperatures to 20 °C, above it the International Temperature Correction Table
    (1936), from memory; ICUMSA's table for the refractive index.
    """
    find_only_given(reading=reading, index=index)
    notes = ["alcohol bends light too: a fermenting must reads too high"]
    print_result(_by_prism(reading, index, at), as_json=as_json, notes=notes)


def _by_prism(reading: TypedFigure | None, index: TypedFigure | None, at: TypedFigure) -> dict[str, Estimate]:
    is_warm_or_cold = at != TypedFigure(20.0)  # at 20 °C nothing is corrected, also outside the table of corrections

    def brix(given: Any, celsius: Any) -> Any:  # noqa: ANN401 - figures or arrays
        if index is not None:
            return brix_from_refractive_index(given)
        shown = brix_from_sg(given)
        return correct_refractometer(shown, celsius) if is_warm_or_cold else shown

    if index is not None and is_warm_or_cold:
        raise CannotCalculate("a refractive index is tabulated at 20 °C only; bring must and prism there")
    given = (index or reading or TypedFigure(0.0), at)
    return {
        "brix": calculate(brix, *given),
        "sg": calculate(lambda x, t: sg_from_brix(brix(x, t)), *given),
        "sugar_g_l": calculate(lambda x, t: sugar_g_l_from_brix(brix(x, t)), *given),
    }
