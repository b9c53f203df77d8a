"""A flight as scripts read it: nothing of what is in a glass or what it was given before it is revealed."""

from collections.abc import Callable, Iterator
from typing import Any

import click

from cooperage.cli.shared.command import option
from cooperage.cli.shared.complete import FLIGHTS
from cooperage.cli.shared.desk import settings
from cooperage.tasting.flights.shape import Flight, Glass, Score

flight_argument = click.argument("code", metavar="FLIGHT", shell_complete=FLIGHTS, help="Code of the flight, as F-4.")

pull_option = option(
    "--pull", metavar="VOLUME", default="", help="Write a sample of so much from each vessel, as 50mL (default: none)."
)


def pull_of(text: str) -> int | None:
    """Return how much is pulled of each vessel [mL]; None where nothing is given. Raises NotAQuantity."""
    from cooperage.tasting.pulling import read_pull

    return read_pull(text, settings().units) if text.strip() else None


def flight_row(poured: Flight) -> dict[str, Any]:
    """Return a flight as scripts read it: what is in a glass, and what it was given, only once it is revealed."""
    return {
        "code": poured.code,
        "name": poured.name,
        "test": None,
        "scale": poured.scale,
        "attributes": [
            {"name": each.name, "scale": each.scale, "part": each.part, "family": each.family}
            for each in poured.attributes
        ],
        "poured_at": poured.poured_at,
        "revealed_at": poured.revealed_at,
        "revealed_by": poured.revealed_by,
        "glasses": [_glass_row(glass, is_open=not poured.is_blind) for glass in poured.glasses],
        "orders": poured.orders,
        "tasters": poured.tasters,
        "left_to_score": dict(poured.left_to_give()) if poured.is_blind else {},
        "left_early": poured.departed,
        "peeks": [{"hand": each.hand, "at": each.at} for each in poured.peeks],
        "scores": list(_score_rows(poured)),
    }


def glasses_opened(poured: Flight) -> list[dict[str, Any]]:
    """Return what is in each glass, for the person who pours."""
    return [_glass_row(glass, is_open=True) for glass in poured.glasses]


def _glass_row(glass: Glass, *, is_open: bool) -> dict[str, Any]:
    row: dict[str, Any] = {"code": glass.code, "position": glass.position, "is_reference": glass.is_reference}
    opened = {"vessel": glass.vessel, "what": glass.what, "role": glass.role}
    return row | (opened if is_open else dict.fromkeys(opened))


def _score_rows(poured: Flight) -> Iterator[dict[str, Any]]:
    if poured.is_blind:
        return
    for (code, taster), given in sorted(poured.scores.items()):
        yield {"glass": code, "taster": taster} | given_row(given)


def given_row(given: Score) -> dict[str, Any]:
    """Return what a taster gave a glass as scripts read it."""
    word, weeks = given.verdict or (None, None)
    figures = {"value": given.value, "attributes": dict(given.marks)}
    return figures | {"words": given.words, "verdict": word, "weeks": weeks}


def glass_name(glass: Glass) -> str:
    """Return what was in a glass, once that may be shown, and that it was a control."""
    return f"{glass.holds}{f' ({glass.role})' if glass.role else ''}"


def _from(glass: Glass) -> str:
    return f"glass {glass.code}  from {glass_name(glass)}"


def print_to_pour(poured: Flight, opening: str = "", words_of: Callable[[Glass], str] = _from) -> None:
    """Print what to pour into which glass, in such words, for the person who pours, and each taster's order."""
    click.echo(f"{opening}flight {poured.code}, scale {poured.scale}; pour in this order:")
    for glass in poured.glasses:
        click.echo(f"  {glass.position:>2}  {words_of(glass)}")
    click.echo("Only the person who pours should see this, and should not taste; to look it up again is written down.")
    for taster, order in poured.orders.items():
        click.echo(f"  {taster} tastes {', '.join(order)}")
