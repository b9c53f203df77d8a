"""`cooperage taste`: flights poured blind, scored alone, revealed at the end."""

from typing import Any

import click

from cooperage.cli.shared.desk import json_option, open_book, plain, print_json, print_table
from cooperage.tasting.flights import Flight, flight, flights, results, reveal, score, start_flight
from cooperage.units import Quantity, read, show_day


@click.group("taste")
def taste_command() -> None:
    """Pour blind flights, write scores, reveal them."""


def _seen(poured: Flight) -> dict[str, Any]:
    """Return a flight as scripts read it: what is in a glass, and what it was given, only once it is revealed."""
    is_open = not poured.is_blind
    return {
        "code": poured.code,
        "name": poured.name,
        "scale": poured.scale,
        "poured_at": poured.poured_at,
        "revealed_at": poured.revealed_at,
        "glasses": [
            {"code": glass.code, "position": glass.position, "vessel": glass.vessel if is_open else None}
            | {"what": glass.what if is_open else None}
            for glass in poured.glasses
        ],
        "tasters": poured.tasters,
        "scores": [
            {"glass": code, "taster": taster, "value": given.value, "words": given.words}
            for (code, taster), given in sorted(poured.scores.items())
            if is_open
        ],
    }


@taste_command.command("flights")
@json_option
@click.pass_context
def list_flights(ctx: click.Context, as_json: bool) -> None:
    """List the flights, newest first."""
    found = flights(open_book(ctx))
    if as_json:
        print_json([_seen(poured) for poured in found])
        return
    rows = [
        (
            p.code,
            show_day(p.poured_at),
            str(len(p.glasses)),
            ", ".join(p.tasters),
            "yes" if p.revealed_at else "no",
            p.name,
        )
        for p in found
    ]
    print_table(("flight", "poured", "glasses", "tasters", "revealed", "name"), rows, right=(2,))


@taste_command.command("start")
@click.argument("tags", nargs=-1, required=True)
@click.option("--code", default="", help="The flight's code (else made from the date).")
@click.option("--name", default="")
@click.option("--scale", default="0-20", show_default=True)
@click.option("--duplicate", is_flag=True, help="Pour one sample twice, to see how steady each taster is.")
@json_option
@click.pass_context
def start(
    ctx: click.Context, tags: tuple[str, ...], code: str, name: str, scale: str, duplicate: bool, as_json: bool
) -> None:
    """Pour a flight of these vessels in random order, blind-coded."""
    poured = start_flight(open_book(ctx), tags, code=code, name=name, scale=scale, hidden_duplicate=duplicate)
    if as_json:
        print_json(_seen(poured))
        return
    click.echo(f"flight {poured.code}, scale {poured.scale}; pour in this order:")
    for glass in poured.glasses:
        click.echo(f"  {glass.position:>2}  glass {glass.code}  from {glass.vessel}")
    click.echo("Only the one who pours should see this, and then not taste: it is not told again until revealed.")


@taste_command.command("score")
@click.argument("code")
@click.argument("glass")
@click.argument("taster")
@click.argument("value")
@click.option("--words", default="", help="Tasting words.")
@click.pass_context
def give_score(ctx: click.Context, code: str, glass: str, taster: str, value: str, words: str) -> None:
    """Write what a taster gave a glass; '-' is words only."""
    given = None if value == "-" else float(read(Quantity.NUMBER, value))
    score(open_book(ctx), code, glass, taster, given, words)


@taste_command.command("reveal")
@click.argument("code")
@json_option
@click.pass_context
def lift(ctx: click.Context, code: str, as_json: bool) -> None:
    """Lift the codes; from then on the scores stand."""
    poured = reveal(open_book(ctx), code)
    if as_json:
        print_json(_seen(poured))
        return
    for glass in poured.glasses:
        click.echo(f"  glass {glass.code}  {glass.vessel or glass.what}")


@taste_command.command("results")
@click.argument("code")
@json_option
@click.pass_context
def print_results(ctx: click.Context, code: str, as_json: bool) -> None:
    """Tell how the panel saw each glass of a revealed flight, and how little so small a panel can tell."""
    poured = flight(open_book(ctx), code)
    found = results(poured)
    if found is None:
        if as_json:
            print_json({"rows": [], "words": []})
        else:
            click.echo(f"flight {poured.code} was revealed without a score")
        return
    if as_json:
        rows = [plain(row) | {"glass": row.glass.code, "vessel": row.glass.vessel} for row in found.rows]
        print_json({"code": poured.code, "rows": rows, "words": found.words})
        return
    lines = [
        (
            row.glass.code,
            row.glass.vessel or row.glass.what,
            f"{row.mean:.1f}",
            f"{row.adjusted:.1f}",
            str(row.tasted),
        )
        for row in found.rows
    ]
    print_table(("glass", "vessel", "mean", "adjusted", "tasters"), lines, right=(2, 3, 4))
    for line in found.words:
        click.echo(line)
