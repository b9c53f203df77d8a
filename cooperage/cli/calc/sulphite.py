"""`calc` for sulphite: what protects, and what to add. A dose is never told without its caution."""

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
from cooperage.cli.shared.desk import json_option
from cooperage.liquid import bound_share_measured, free_so2_for, molecular_so2, so2_pk, sulphite_dose
from cooperage.liquid.hazards import DECLARED_FROM

DOSES = ("metabisulphite_g", "solution_ml", "gas_g")


@click.command("so2")
@option("--free", reads=SULPHITE, about="Free SO2, to tell the molecular.")
@option("--molecular", reads=SULPHITE, about="Molecular SO2 wanted, to tell the free it takes.")
@option("--ph", reads=NUMBER, about="pH.", required=True)
@option("--strength", "abv", reads=STRENGTH, about="Strength of the mead.")
@option("--at", reads=TEMPERATURE, about="Temperature of the mead.")
@click.option(
    "--convention",
    type=click.Choice(["oiv", "pk181"]),
    default="oiv",
    show_default=True,
    help="pK by strength and temperature, or 1.81 whatever the liquid, as most rules of thumb have it.",
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
    """Molecular SO2 from free, or free from molecular: --free 30 --ph 3.4 --strength 13.5 --at 15c.

    Source: pK by OIV-MA-AS323-04C, Table I (Usseglio-Tomasset and Bosia 1984), below 20 °C by van 't Hoff's law; the
    pK 1.81 as in University of California Enology Briefs 1 (1982).
    """
    is_free = find_only_given(free=free, molecular=molecular) == "free"
    key, function = ("molecular_so2_mg_l", molecular_so2) if is_free else ("free_so2_mg_l", free_so2_for)
    so2 = free or molecular or TypedFigure(0.0)
    if convention == "pk181":
        found = {key: calculate(partial(function, convention="pk181"), so2, ph)}
    elif abv is None or at is None:
        raise CannotCalculate("give --strength and --at, or --convention pk181, which heeds neither")
    else:
        found = {key: calculate(function, so2, ph, abv, at), "pk": calculate(so2_pk, abv, at)}
    print_result(found, as_json=as_json, also={"convention": convention})


@click.command("dose")
@click.argument("litres", metavar="VOLUME", type=VOLUME)
@option("--rise", reads=SULPHITE, about="How much the free SO2 shall rise.", required=True)
@option("--binds", reads=PERCENT, about="Share of the addition that binds, as assumed.")
@click.option(
    "--measured",
    type=(SULPHITE, SULPHITE),
    default=None,
    metavar="FREE TOTAL",
    help="What free and total rose by after an earlier addition, to know the share that binds.",
)
@option("--solution", reads=SUGAR, about="SO2 in the stock solution.", default="50 g/L", show_default=True)
@json_option
def dose_command(
    litres: TypedFigure,
    rise: TypedFigure,
    binds: TypedFigure | None,
    measured: tuple[TypedFigure, TypedFigure] | None,
    solution: TypedFigure,
    as_json: bool,
) -> None:
    """Sulphite for a volume and a rise of free SO2, as powder, solution or gas: 225l --rise 10 --binds 40%.

    Source: stoichiometry, 57.62 % of SO2 in fresh potassium metabisulphite.
    """
    share = _share_bound(binds, measured)
    found = calculate_each(
        lambda v, so2, bound, stock: sulphite_dose(v, so2, bound / 100.0, stock),
        *(litres, rise, share, solution),
        only=DOSES,
    )
    notes = (
        [] if share.value else ["nothing is taken to bind, though a third to a half of a first addition commonly does"]
    )
    found["bound_percent"] = calculate(lambda bound: bound, share)
    print_result(found, as_json=as_json, notes=[*notes, DECLARED_FROM], handled=Handled(substances=("metabisulphite",)))


def _share_bound(binds: TypedFigure | None, measured: tuple[TypedFigure, TypedFigure] | None) -> TypedFigure:
    """Return the percentage of an addition that binds."""
    if binds is not None and measured is not None:
        raise CannotCalculate("give --binds or --measured, not both")
    if measured is None:
        return binds or TypedFigure(0.0)
    share = calculate(lambda free, total: 100.0 * bound_share_measured(free, total), *measured)
    return TypedFigure(float(share.value), float(share.standard_uncertainty))
