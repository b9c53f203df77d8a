"""`cooperage rules`: list the rules, show one with all its values, record one's own, choose a profile."""

from datetime import date
from typing import Any

import click

from cooperage.cli.shared.command import CommandGroup, option
from cooperage.cli.shared.complete import one_of
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    note_option,
    open_book,
    print_json,
    print_table,
    settings,
)
from cooperage.cli.shared.profile import profile_option
from cooperage.programme.rules.kept import (
    own_rules,
    profile_in_use,
    profile_named,
    set_rule,
    use_profile,
    withdraw_rule,
)
from cooperage.programme.rules.listed import (
    HOW_LISTED,
    RULE_HEAD,
    history_lines,
    own_row,
    own_words,
    profile_words,
    rule_cells,
    rule_history,
    rule_row,
    rules_listed,
)
from cooperage.programme.rules.profile import profile_of
from cooperage.programme.rules.shipped import PROFILES, REFERENCES, shipped_figures
from cooperage.units import local_day, read_day

_day_option = option("--on-day", "day", metavar="DAY", help="As they hold on this day (default: today).")
_since_option = option("--since", metavar="DATE", help="From the beginning of this day on (default: today).")
_name = click.argument(
    "name",
    shell_complete=one_of(lambda: {each.name for each in shipped_figures()}),
    help="Name of a figure, such as fill-each.500ml; `rules list` shows them.",
)


def _day(book: Any, text: str | None) -> date:  # noqa: ANN401 - a Book
    return local_day(book.now()) if text is None else read_day(text, book.now())


def _whose(book: Any, profile: str | None, day: date) -> str:  # noqa: ANN401 - a Book
    """Return the profile that is meant."""
    if profile is not None:
        return profile_named(profile)
    with book.reading() as connection:
        return profile_in_use(own_rules(connection), day)[0]


@click.group(
    "rules",
    cls=CommandGroup,
    examples=("cooperage rules list", "cooperage rules show fill-each.750ml --json"),
)
def rules_command() -> None:
    """Show what the law asks, with sources and dates, and record the cellar's own values: US, EU, UK.

    A reference, no advice: check with your authority.
    """


@rules_command.command(
    "list", examples=("cooperage rules list", "cooperage rules list tax-class --profile UK --on-day 2026-02-01 --json")
)
@click.argument("begins", required=False, default="", help="Only names that begin so, such as tax-class or tne.")
@option(
    "--profile",
    metavar="PROFILE",
    shell_complete=one_of(lambda: PROFILES + REFERENCES),
    help=f"Whose rules, {', '.join(PROFILES)} (default: those the cellar works by); OIV to compare with.",
)
@_day_option
@json_option
@click.pass_context
def list_command(ctx: click.Context, begins: str, profile: str | None, day: str | None, as_json: bool) -> None:
    """List the figures that hold, each with its source, its date, and how well it is known."""
    book = open_book(ctx)
    when = _day(book, day)
    with book.reading() as connection:
        found = rules_listed(connection, when, profile, begins)
        works_by = profile_words(connection, when)
    if as_json:
        print_json([rule_row(each) for each in found])
        return
    print_table(RULE_HEAD, [rule_cells(each, settings().units) for each in found], empty="No rule's name begins so.")
    click.echo(works_by)
    click.echo(HOW_LISTED)


@rules_command.command(
    "show", examples=("cooperage rules show fill-each.500ml", "cooperage rules show tne.500-1000 --profile EU --json")
)
@_name
@profile_option
@_day_option
@json_option
@click.pass_context
def show_command(ctx: click.Context, name: str, profile: str | None, day: str | None, as_json: bool) -> None:
    """Show one figure with everything that is shipped for it and all that was entered here."""
    book = open_book(ctx)
    when = _day(book, day)
    with book.reading() as connection:
        history = rule_history(connection, profile_of(connection, when, profile), name)
    if as_json:
        more = {"shipped": [rule_row(each) for each in history.shipped], "own": [own_row(each) for each in history.own]}
        print_json(rule_row(history.holds) | more)
        return
    for line in history_lines(history, settings().units):
        click.echo(line)


@rules_command.command(
    "set",
    examples=(
        "cooperage rules set fill-each.500ml 2 --source 'letter of the authority, 3 May 2026'",
        "cooperage rules set total-so2.mead '<= 200' --profile EU --since 2026-01-01 --source 'read by Ada' --json",
    ),
)
@_name
@click.argument("value", help="The value in the unit of the figure: a number, a limit such as '<= 200', or 30/1/3.")
@profile_option
@_since_option
@option("--source", metavar="TEXT", required=True, help="Where the value is from: section, letter, date.")
@note_option
@hand_option
@json_option
@click.pass_context
def set_command(ctx: click.Context, /, name: str, value: str, profile: str | None, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Record a value of the cellar's own for a figure; what is shipped and what was entered before stay beside it."""
    book = open_book(ctx)
    day = _day(book, given["since"])
    made = set_rule(
        book,
        _whose(book, profile, day),
        name,
        value,
        since=day,
        source=given["source"],
        note=given["note"],
        hand=given["hand"] or settings().hand,
    )
    _print_written(made, as_json=given["as_json"])


@rules_command.command(
    "withdraw",
    examples=(
        "cooperage rules set fill-each.750ml 1.5 --source 'our own' && cooperage rules withdraw fill-each.750ml",
        "cooperage rules set fill-each.750ml 1 --source 'ours' && cooperage rules withdraw fill-each.750ml --json",
    ),
)
@_name
@profile_option
@_since_option
@option("--why", metavar="TEXT", default="", help="Why it is withdrawn, in a few words.")
@hand_option
@json_option
@click.pass_context
def withdraw_command(ctx: click.Context, /, name: str, profile: str | None, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Withdraw the cellar's own value of a figure: the shipped one holds again."""
    book = open_book(ctx)
    day = _day(book, given["since"])
    hand = given["hand"] or settings().hand
    made = withdraw_rule(book, _whose(book, profile, day), name, since=day, why=given["why"], hand=hand)
    _print_written(made, as_json=given["as_json"])


@rules_command.command(
    "use", examples=("cooperage rules use EU", "cooperage rules use UK --since 2026-01-01 --hand Ada --json")
)
@click.argument("profile", shell_complete=one_of(lambda: PROFILES), help=f"One of {', '.join(PROFILES)}.")
@_since_option
@hand_option
@json_option
@click.pass_context
def use_command(ctx: click.Context, profile: str, since: str | None, hand: str | None, as_json: bool) -> None:
    """Record which rules the cellar works by from a day on."""
    book = open_book(ctx)
    made = use_profile(book, profile, since=_day(book, since), hand=hand or settings().hand)
    _print_written(made, as_json=as_json)


def _print_written(made: Any, *, as_json: bool) -> None:  # noqa: ANN401 - an OwnRule
    if as_json:
        print_json(own_row(made))
        return
    click.echo(f"Written: {made.name}, {own_words(made)}")
    click.echo(HOW_LISTED)
