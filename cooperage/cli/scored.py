"""`cooperage forecast --scored`: what was forecast for each reading, and what came."""

from collections.abc import Sequence
from typing import Any

import click

from cooperage.book import Book
from cooperage.book.declared.properties import PROPERTIES
from cooperage.cli.shared.desk import print_json, print_table, settings
from cooperage.programme.ageing.scored import outcomes
from cooperage.programme.ageing.scores import PROBABILITIES, ForecastScore, scores
from cooperage.units import counted, show, unit_written

_HEADER = (
    "figure",
    "readings",
    "off by",
    "bias",
    *(f"in {100 * p:g} %" for p in PROBABILITIES),
    "as last read",
    "bias",
    "",
)


def show_scores(book: Book, tags: Sequence[str], *, as_json: bool) -> None:
    """Print how good forecasts were, by figure: of the vessels named, or of all. Raises NoSuchVessel."""
    cellar = book.cellar()
    wanted = {cellar[tag].tag for tag in tags}
    found = scores(each for each in outcomes(book) if not wanted or each.vessel in wanted)
    if as_json:
        print_json([_row(score) for score in found])
        return
    if not found:
        click.echo("No figure has been measured twice yet: there is nothing to score.")
        return
    print_table(_HEADER, [_line(score) for score in found], range(1, len(_HEADER) - 1))
    whole = counted(sum(score.count for score in found), "reading")
    click.echo(
        f"{whole}, each forecast from what was known before it. Off by: the mean error; bias: how much too high;"
    )
    click.echo("in 50 %: how many came within the band that should hold half of them.")


def _line(score: ForecastScore) -> tuple[str, ...]:
    better = "" if score.is_better else "worse than as last read"
    held = (f"{100 * share:.0f} %" for share in score.held)
    errors = [_figure(score, value) for value in (score.error, score.bias, score.last_error, score.last_bias)]
    return (PROPERTIES[score.name].label, str(score.count), *errors[:2], *held, *errors[2:], better)


def _figure(score: ForecastScore, value: float) -> str:
    """Return an error in the person's unit, with a digit more than the figure itself: means are finer than readings."""
    quantity = PROPERTIES[score.name].quantity
    return show(quantity, value, settings().units, digits=_DIGITS.get(score.name))


_DIGITS = {"free_so2_mg_l": 1, "total_so2_mg_l": 1, "ph": 3, "va_g_l": 3, "abv": 2, "ta_g_l": 3}


def _row(score: ForecastScore) -> dict[str, Any]:
    held = dict(
        zip((f"held_{100 * p:g}_percent" for p in PROBABILITIES), (100 * share for share in score.held), strict=True)
    )
    return {
        "figure": score.name,
        "unit": unit_written(PROPERTIES[score.name].quantity),
        "readings": score.count,
        "error": score.error,
        "bias": score.bias,
        **held,
        "score": score.crps,
        "as_last_read_error": score.last_error,
        "as_last_read_bias": score.last_bias,
    }
