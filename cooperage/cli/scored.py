"""`cooperage forecast --scored`: what was forecast for each reading and each visit, and what came."""

from collections.abc import Sequence
from typing import Any

import click

from cooperage.book import Book
from cooperage.cli.shared.desk import print_json, print_table, settings
from cooperage.programme.ageing.scoring.scoreboard import (
    HOW_SCORED,
    NOTHING_SCORED,
    SCORE_HEAD,
    ScoreLine,
    score_cells,
    scoreboard,
    verdict,
)
from cooperage.programme.ageing.scoring.scores import PROBABILITIES
from cooperage.units import Quantity, unit_written


def show_scores(book: Book, tags: Sequence[str], *, as_json: bool) -> None:
    """Print how good forecasts were, by figure: of the vessels named, or of all. Raises NoSuchVessel."""
    found = scoreboard(book, tags)
    if as_json:
        print_json([_row(line) for line in found])
        return
    if not found:
        click.echo(NOTHING_SCORED)
        return
    print_table(SCORE_HEAD, [score_cells(line, settings().units) for line in found], range(1, len(SCORE_HEAD)))
    click.echo(HOW_SCORED)
    for line in found:
        if line.is_set_aside or not line.score.is_better:
            click.echo(verdict(line))


def _row(line: ScoreLine) -> dict[str, Any]:
    """Return a score as scripts read it; figures in the unit of the row."""
    score, per_unit = line.score, 1000 if line.quantity is Quantity.VOLUME else 1
    held = {f"held_{100 * p:g}_percent": 100 * share for p, share in zip(PROBABILITIES, score.held, strict=True)}
    figures = {
        "error": score.error,
        "bias": score.bias,
        "score": score.crps,
        "as_last_read_error": score.last_error,
        "as_last_read_bias": score.last_bias,
    }
    return {
        "figure": score.name,
        "unit": unit_written(line.quantity),
        "readings": score.count,
        **held,
        **{name: value / per_unit for name, value in figures.items()},
        "is_set_aside": line.is_set_aside,
        "basis": line.basis,
    }
