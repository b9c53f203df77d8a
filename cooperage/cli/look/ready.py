"""`cooperage ready`: when barrels are ready by the cellar's own definition, and that definition."""

from typing import Any

import click

from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import LOTS, TAGS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    number,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.programme.ready.definitions import (
    CHANCE,
    NONE_YET,
    RISK,
    Definition,
    define,
    definitions_in,
    holds_words,
    own_definition,
    standing_definitions,
    what_holds,
    withdraw,
)
from cooperage.programme.ready.limits import unit_of
from cooperage.programme.ready.readiness import LooksOnce, in_turn, readiness
from cooperage.programme.ready.words import HOW_READY, READY_HEAD, chance_in_words, ready_cells, ready_row
from cooperage.units import DEFAULT, show_day

_lot_option = option("--lot", metavar="LOT", shell_complete=LOTS, help="For this lot alone.")


@click.group(
    "ready",
    cls=CommandGroup,
    invoke_without_command=True,
    examples=(
        "cooperage ready define 'overall at least 14; va at most 0.7' && cooperage ready",
        "cooperage ready --vessel B-012 --json",
        "cooperage ready --scored",
    ),
)
@option(
    "--vessel", "vessels", metavar="TAG", multiple=True, shell_complete=TAGS, help="Only this one; may be repeated."
)
@option("--lot", metavar="LOT", shell_complete=LOTS, help="Only barrels whose largest part is this lot.")
@option("--scored", is_flag=True, help="Show how good past forecasts were instead.")
@json_option
@click.pass_context
def ready_command(ctx: click.Context, vessels: tuple[str, ...], lot: str | None, scored: bool, as_json: bool) -> None:
    """Show when each barrel is ready by the cellar's own definition, and when to look at it next.

    Learned from every panel's scores: barrels of like lot, wood, toast, size and fill lend each other what they showed.
    """
    if ctx.invoked_subcommand is not None:
        return
    from cooperage.programme.ageing.aged import cellar_now

    book = open_book(ctx)
    cellar = cellar_now(book)
    wanted = {cellar[tag].tag for tag in vessels}
    if scored:
        _print_scored(book, wanted, as_json=as_json)
        return
    code = None if lot is None else own_definition(book, lot)[0]
    looks = LooksOnce(book, cellar.at)
    found = [
        each
        for each in in_turn(readiness(book, cellar, looks).values())
        if (not wanted or each.vessel in wanted) and code in (None, each.lot)
    ]
    units = DEFAULT if as_json else settings().units
    if as_json:
        print_json([ready_row(each, units) for each in found])
        return
    standing = _standing(book)
    if not found and not standing:
        click.echo(NONE_YET)
        return
    print_table(READY_HEAD, [ready_cells(each, cellar.at, units) for each in found], (3,), "No barrel holds that.")
    for definition in standing.values():
        click.echo(f"{_whose(definition)}: {definition.words(units)}")
    _print_usual_time(looks, standing.get(None))
    click.echo(HOW_READY)


def _standing(book: Any) -> dict[str | None, Definition]:  # noqa: ANN401 - a Book
    with book.reading() as connection:
        return standing_definitions(definitions_in(connection))


def _whose(definition: Definition) -> str:
    return "ready" if definition.lot is None else f"ready, {definition.lot}"


def _print_usual_time(looks: LooksOnce, definition: Definition | None) -> None:
    """Print how long fills took until they met the cellar's definition."""
    from cooperage.programme.ready.survival import times_until_met, usual_time_words

    if definition is None:
        return
    if words := usual_time_words(times_until_met(looks.every, definition.limits)):
        click.echo(words)


def _print_scored(book: Any, wanted: set[str], *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.ready.scoring import (
        HOW_SCORED,
        NOTHING_SCORED,
        SCORE_HEAD,
        ripening_cells,
        ripening_row,
        ripening_scoreboard,
    )

    found = ripening_scoreboard(book, wanted)
    if as_json:
        print_json([ripening_row(score) for score in found])
        return
    units = settings().units
    rows = [ripening_cells(score, units) for score in found]
    print_table(SCORE_HEAD, rows, range(2, len(SCORE_HEAD)), empty=NOTHING_SCORED)
    if found:
        click.echo(HOW_SCORED)


@ready_command.command(
    "define",
    examples=(
        "cooperage ready define 'overall at least 14 of 20; oak at most 6 of 10; va at most 0.7'",
        "cooperage ready define 'overall at least 15; age at least 6' --lot HE-24 --chance 70 --json",
    ),
)
@click.argument("limits", nargs=-1, required=True, help="Limits in plain words, separated by semicolons.")
@_lot_option
@option(
    "--chance", type=number, default=100 * CHANCE, show_default=True, help="The chance [%] with which all must hold."
)
@option("--risk", type=number, default=100 * RISK, show_default=True, help="The risk [%] of missing the time for it.")
@hand_option
@sure_option
@json_option
@click.pass_context
def define_command(
    ctx: click.Context,
    limits: tuple[str, ...],
    lot: str | None,
    chance: float,
    risk: float,
    hand: str | None,
    sure: bool,
    as_json: bool,
) -> None:
    """Write down what ready means here: limits on scores, on figures, and on the months in this wood.

    It stands until the next one; that of a lot goes before that of the cellar.
    """
    mine = settings()
    made = define(
        open_book(ctx),
        " ".join(limits),
        lot=lot,
        chance=chance / 100,
        risk=risk / 100,
        hand=hand or mine.hand,
        units=mine.units,
        sure=sure,
    )
    _print_written(made, as_json=as_json)


@ready_command.command(
    "withdraw",
    examples=(
        "cooperage ready define 'overall at least 14' && cooperage ready withdraw",
        "cooperage ready define 'overall at least 14' --lot HE-24 && cooperage ready withdraw --lot HE-24 --json",
    ),
)
@_lot_option
@hand_option
@json_option
@click.pass_context
def withdraw_command(ctx: click.Context, lot: str | None, hand: str | None, as_json: bool) -> None:
    """Withdraw the cellar's definition of ready, or that of a lot."""
    book = open_book(ctx)
    made = withdraw(book, lot=lot, hand=hand or settings().hand)
    now = what_holds(book, made.lot)
    if as_json:
        print_json(_definition_row(made) | {"holds_now": None if now is None else now.words(DEFAULT)})
        return
    _print_written(made, as_json=False)
    click.echo(holds_words(now, made.lot, settings().units))


def _print_written(made: Definition, *, as_json: bool) -> None:
    if as_json:
        print_json(_definition_row(made))
        return
    click.echo(f"Written: {_whose(made)}: {made.words(settings().units)}")


@ready_command.command("definitions", examples=("cooperage ready definitions", "cooperage ready definitions --json"))
@json_option
@click.pass_context
def definitions_command(ctx: click.Context, as_json: bool) -> None:
    """List every definition of ready that was ever written, oldest first."""
    with open_book(ctx).reading() as connection:
        every = definitions_in(connection)
    standing = {each.id for each in standing_definitions(every).values()}
    if as_json:
        print_json([_definition_row(each) | {"in_force": each.id in standing} for each in every])
        return
    units = settings().units
    rows = [
        (
            show_day(each.written_at),
            each.lot or "all lots",
            each.words(units),
            chance_in_words(each.chance) if each.limits else "",
            chance_in_words(each.risk) if each.limits else "",
            each.hand,
            "in force" if each.id in standing else "",
        )
        for each in every
    ]
    print_table(("written", "for", "ready is", "chance", "risk", "by", "now"), rows, (3, 4), empty=NONE_YET)


def _definition_row(made: Definition) -> dict[str, Any]:
    """Return a definition as scripts read it; chances are from 0 to 1."""
    return {
        "lot": made.lot,
        "definition": made.words(DEFAULT),
        "limits": [
            {"name": each.name, "side": "at most" if each.sign > 0 else "at least", "value": each.value}
            | {"unit": unit_of(each.name), "scale": each.scale}
            for each in made.limits
        ],
        "wanted_chance": made.chance,
        "risk": made.risk,
        "hand": made.hand,
        "written": made.written_at,
    }
