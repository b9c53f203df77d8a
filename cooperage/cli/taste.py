"""`cooperage taste`: flights poured blind, scored alone, revealed at the end."""

from typing import Any

import click

from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import FLIGHTS, tag_argument
from cooperage.cli.shared.desk import json_option, open_book, plain, print_json, print_table
from cooperage.tasting.flights import Flight, flight, flights, results, reveal, score, start_flight
from cooperage.units import Quantity, read, show_day

taste_command = CommandGroup(
    "taste", help="Pour blind flights, record scores, reveal them.", examples=("cooperage taste results F-4",)
)
flight_argument = click.argument("code", metavar="FLIGHT", shell_complete=FLIGHTS, help="Code of the flight, as F-4.")


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


@taste_command.command("flights", examples=("cooperage taste flights", "cooperage taste flights --json"))
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


@taste_command.command(
    "start",
    examples=(
        "cooperage taste start B-001 B-002 B-003",
        "cooperage taste start B-010 B-011 B-012 --code SPRING --name 'spring panel' --duplicate --json",
    ),
)
@tag_argument("tags", nargs=-1, required=True, metavar="TAG...", help="Tags of the vessels to taste.")
@option("--code", metavar="FLIGHT", default="", help="Code for the flight (default: made from the date).")
@option("--name", metavar="TEXT", default="", help="What the tasting is about.")
@option("--scale", metavar="LOW-HIGH", default="0-20", show_default=True, help="Lowest and highest score.")
@option("--duplicate", is_flag=True, help="Pour one sample twice, to check each taster's repeatability.")
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
    click.echo("Only the person who pours should see this, and should not taste; it is not shown again until revealed.")


@taste_command.command(
    "score", examples=("cooperage taste score F-4 123 Iko 14.5 --words 'bright, long'   # refused: F-4 is revealed",)
)
@flight_argument
@click.argument("glass", help="Code on the glass, such as 873.")
@click.argument("taster", help="Name of the taster.")
@click.argument("value", metavar="SCORE", help="Score on the flight's scale; use - for words without a score.")
@option("--words", metavar="TEXT", default="", help="Tasting notes, such as 'bright, long'.")
@json_option
@click.pass_context
def give_score(ctx: click.Context, code: str, glass: str, taster: str, value: str, words: str, as_json: bool) -> None:
    """Record a taster's score of a glass."""
    given = None if value == "-" else float(read(Quantity.NUMBER, value))
    score(open_book(ctx), code, glass, taster, given, words)
    if as_json:
        print_json({"flight": code, "glass": glass, "taster": taster, "score": given, "words": words})


@taste_command.command("reveal", examples=("cooperage taste reveal F-4",))
@flight_argument
@json_option
@click.pass_context
def lift(ctx: click.Context, code: str, as_json: bool) -> None:
    """Reveal the codes and lock the scores."""
    poured = reveal(open_book(ctx), code)
    if as_json:
        print_json(_seen(poured))
        return
    for glass in poured.glasses:
        click.echo(f"  glass {glass.code}  {glass.vessel or glass.what}")


@taste_command.command("results", examples=("cooperage taste results F-4", "cooperage taste results F-4 --json"))
@flight_argument
@json_option
@click.pass_context
def print_results(ctx: click.Context, code: str, as_json: bool) -> None:
    """Show how the panel scored each glass of a revealed flight, and what a panel this size can and cannot show."""
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
