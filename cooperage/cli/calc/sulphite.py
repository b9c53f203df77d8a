"""`calc` for sulphite: what protects, and what to add. A dose is never shown without its caution."""

from functools import partial

import click

from cooperage.cli.calc.desk import (
    NUMBER,
    PERCENT,
    STRENGTH,
    SUGAR,
    SULPHITE,
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
)
from cooperage.cli.shared.command import WordChoice, command
from cooperage.cli.shared.command import option as declared_option
from cooperage.cli.shared.desk import json_option
from cooperage.liquid import bound_share_measured, free_so2_for, molecular_so2, so2_pk, sulphite_dose
from cooperage.liquid.hazards import DECLARED_FROM

DOSES = ("metabisulphite_g", "solution_ml", "gas_g")


@command(
    "so2",
    "cooperage calc so2 --free 30 --ph 3.4 --strength 13.5 --at 15c",
    "cooperage calc so2 --molecular 0.8 --ph 3.4 --convention pk181 --json",
)
@option("--free", reads=SULPHITE, about="Free SO2, to calculate the molecular.")
@option("--molecular", reads=SULPHITE, about="Molecular SO2 wanted, to calculate the free.")
@option("--ph", reads=NUMBER, about="Acidity of the liquid on the pH scale, such as 3.4.", required=True)
@option("--strength", "abv", reads=STRENGTH, about="Strength of the liquid.")
@option("--at", reads=TEMPERATURE, about="Temperature of the liquid.")
@click.option(
    "--convention",
    type=WordChoice(("oiv", "pk181")),
    metavar="NAME",
    default="oiv",
    show_default=True,
    help="oiv: pK by strength and temperature; pk181: pK 1.81 for any liquid, as most rules of thumb have it.",
)
@json_option
def so2_command(
    free: TypedFigure | None,
    molecular: TypedFigure | None,
    ph: TypedFigure,
    abv: TypedFigure | None,
    at: TypedFigure | None,
    convention: str,
    as_json: bool,
) -> None:
    """Calculate molecular SO2 from free, or free from molecular.

    Source: pK by OIV-MA-AS323-04C, Table I (Usseglio-Tomasset and Bosia 1984), below 20 °C by van 't Hoff's law; the
    pK 1.81 as in University of California Enology Briefs 1 (1982).
    """
    is_free = find_only_given(free=free, molecular=molecular) == "free"
    key, function = ("molecular_so2_mg_l", molecular_so2) if is_free else ("free_so2_mg_l", free_so2_for)
    so2 = free or molecular or TypedFigure(0.0)
    if convention == "pk181":
        found = {key: calculate(partial(function, convention="pk181"), so2, ph)}
    elif abv is None or at is None:
        raise CannotCalculate("give --strength and --at, or --convention pk181, which uses neither")
    else:
        found = {key: calculate(function, so2, ph, abv, at), "pk": calculate(so2_pk, abv, at)}
    print_result(found, as_json=as_json, also={"convention": convention})


@command(
    "dose",
    "cooperage calc dose 225l --rise 10 --bound 40%",
    "cooperage calc dose 225l --rise 10 --measured-rise 18 30 --json",
)
@click.argument("litres", metavar="VOLUME", type=VOLUME, help="Volume to treat, such as 225 L.")
@option("--rise", reads=SULPHITE, about="Rise in free SO2 wanted.", required=True)
@option(
    "--bound", "binds", reads=PERCENT, formerly=("--binds",), about="Part of an addition that binds (default: none)."
)
@declared_option(
    "--measured-rise",
    "measured",
    type=(SULPHITE, SULPHITE),
    default=None,
    metavar="FREE TOTAL",
    formerly=("--measured",),
    help="Rise of free and of total after an earlier addition, in place of --bound.",
)
@option(
    "--solution", reads=SUGAR, about="SO2 in the stock solution, such as 50 g/L.", default="50 g/L", show_default=True
)
@json_option
def dose_command(
    litres: TypedFigure,
    rise: TypedFigure,
    binds: TypedFigure | None,
    measured: tuple[TypedFigure, TypedFigure] | None,
    solution: TypedFigure,
    as_json: bool,
) -> None:
    """Calculate the sulphite for a volume and a rise of free SO2, as powder, solution or gas.

    Source: stoichiometry, 57.62 % of SO2 in fresh potassium metabisulphite.
    """
    share = _share_bound(binds, measured)
    found = calculate_each(
        lambda v, so2, bound, stock: sulphite_dose(v, so2, bound / 100.0, stock),
        *(litres, rise, share, solution),
        only=DOSES,
    )
    notes = (
        []
        if share.value
        else ["nothing is taken to bind, although a third to a half of a first addition commonly does; give --bound"]
    )
    found["bound_percent"] = calculate(lambda bound: bound, share)
    print_result(found, as_json=as_json, notes=[*notes, DECLARED_FROM], handled=Handled(substances=("metabisulphite",)))


def _share_bound(binds: TypedFigure | None, measured: tuple[TypedFigure, TypedFigure] | None) -> TypedFigure:
    """Return the percentage of an addition that binds."""
    if binds is not None and measured is not None:
        raise CannotCalculate("give --bound or --measured-rise, not both")
    if measured is None:
        return binds or TypedFigure(0.0)
    share = calculate(lambda free, total: 100.0 * bound_share_measured(free, total), *measured)
    return TypedFigure(float(share.value), float(share.standard_uncertainty))
