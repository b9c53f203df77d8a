"""`cooperage calc`: the physics on the command line. It needs no cellar."""

from typing import Any

import click

from cooperage.cli.calc.barrel import evaporation_command, headspace_command, tank_command, wood_command
from cooperage.cli.calc.desk import CannotCalculate, format_outside
from cooperage.cli.calc.fill import fill_command, label_command
from cooperage.cli.calc.gravity import (
    alcoholometer_command,
    hydrometer_command,
    refractometer_command,
    strength_command,
    sugar_command,
)
from cooperage.cli.calc.mixing import adjust_command, honey_command, mix_command
from cooperage.cli.calc.sulphite import dose_command, so2_command
from cooperage.cli.shared.command import CommandGroup
from cooperage.cli.shared.desk import settings
from cooperage.liquid import OutsideFormula


class Calc(CommandGroup):
    """Names what lies outside a formula in the person's own units."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - as click declares it
        """Run a command."""
        try:
            return super().invoke(ctx)
        except OutsideFormula as error:
            raise CannotCalculate(format_outside(error, settings().units)) from error


calc_command = Calc(
    "calc",
    commands=[
        adjust_command,
        alcoholometer_command,
        dose_command,
        evaporation_command,
        fill_command,
        headspace_command,
        honey_command,
        hydrometer_command,
        label_command,
        mix_command,
        refractometer_command,
        so2_command,
        strength_command,
        sugar_command,
        tank_command,
        wood_command,
    ],
    help="""Calculate a strength, sweetness, dose or level.

    Type figures in your own units, or with another unit after them: 1.022, 22bx, 64f, 59gal. Any of them may carry its
    standard uncertainty, "13.5±0.1" or "13.5+-0.1", which is then carried into the answer. Each command's help names
    the published source of its formula.
    """,
    examples=("cooperage calc hydrometer 1.052 --at 64f", "cooperage calc so2 --free 30 --ph 3.4 --convention pk181"),
)
