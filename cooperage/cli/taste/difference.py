"""`cooperage taste difference`: what right answers show, and how many tasters a question needs. No cellar is needed."""

import math

import click

from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.desk import json_option, number, print_json, settings

NAMES = ("triangle", "duo-trio", "paired", "3-afc", "tetrad")
"""Of the tests; here so that the help of commands needs none of the arithmetic."""


@command(
    "difference",
    "cooperage taste difference triangle 9 --of 15",
    "cooperage taste difference duo-trio 5 --of 8 --share 0.3 --power 0.9 --json",
)
@click.argument("test", type=WordChoice(NAMES), metavar="TEST", help=f"The test: {', '.join(NAMES)}.")
@click.argument("right", type=int, metavar="RIGHT", help="How many answered right.")
@option("--of", "tasters", type=int, required=True, metavar="N", help="How many answered, each once.")
@option(
    "--alpha", type=number, default=0.05, show_default=True, help="Chance to find a difference where there is none."
)
@option("--share", type=number, default=0.5, show_default=True, help="Share of tasters who taste what matters, 0 to 1.")
@option("--power", type=number, default=0.8, show_default=True, help="Chance to find it, for the tasters it needs.")
@json_option
def difference_command(
    test: str, right: int, tasters: int, alpha: float, share: float, power: float, as_json: bool
) -> None:
    """Show what right answers in a difference test show, and how many tasters the question needs."""
    from cooperage.tasting.statistics.difference.counts import difference_test
    from cooperage.tasting.statistics.difference.found import difference_found

    found = difference_found(difference_test(test), right, tasters, alpha=alpha, share=share, wanted=power)
    if not as_json:
        click.echo(f"{found.test.name}: {found.test.question}")
        for line in found.words(settings().units):
            click.echo(line)
        return
    estimate, panel = found.estimate, found.panel
    print_json(
        {
            "test": found.test.name,
            "right": found.correct,
            "tasters": found.tasters,
            "p": found.p,
            "alpha": found.alpha,
            "right_needed": found.needed,
            "difference_shown": found.is_shown,
            "share_who_taste_it": estimate.share,
            "share_between": estimate.share_between,
            "d_prime": _finite(estimate.d_prime),
            "d_prime_between": [_finite(end) for end in estimate.d_prime_between],
            "sure": estimate.level,
            "share": found.share,
            "power": found.power,
            "power_wanted": found.wanted,
            "tasters_needed": panel.first if panel else None,
            "tasters_enough_from": panel.stable if panel else None,
            "most_right_if_alike": found.most_alike,
            "alike_shown": found.is_shown_alike,
            "words": found.words(settings().units),
        }
    )


def _finite(d_prime: float) -> float | None:
    """Return a distance, or None where every answer was right: JSON has no infinity."""
    return None if math.isinf(d_prime) else d_prime
