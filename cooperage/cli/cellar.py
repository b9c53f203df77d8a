"""`cooperage cellar`: settings of the cellar as a whole, shown and changed."""

import click

from cooperage.book import Book
from cooperage.book.facts import CHECK, FACTS, Fact, Facts, fact_named, read_fact, show_fact
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import one_of
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.cli.shared.unit_keys import unit_key
from cooperage.errors import BadInput
from cooperage.programme.upkeep.cellar_facts import cellar_facts, change_facts


@command(
    "cellar",
    "cooperage cellar",
    "cooperage cellar loss_allowance 2.5",
    "cooperage cellar class_lines '8.5; 14; 16'",
    "cooperage cellar temperature --default --json",
)
@click.argument("key", required=False, shell_complete=one_of(lambda: FACTS), help=f"One of {', '.join(FACTS)}.")
@click.argument("value", nargs=-1, help="Its new value; separate several with semicolons.")
@option("--default", "to_default", is_flag=True, help="Reset KEY to its default.")
@json_option
@click.pass_context
def cellar_command(
    ctx: click.Context, key: str | None, value: tuple[str, ...], *, to_default: bool, as_json: bool
) -> None:
    """Show the settings of the cellar, or change one: name, loss allowance, class lines, usual climate.

    Allowance and class lines are references, not advice; check them with your authority.
    """
    book = open_book(ctx)
    wanted = list(FACTS.values()) if key is None else [fact_named(key)]
    if value and to_default:
        raise BadInput("give either a value or --default, not both")
    if to_default and key is None:
        raise BadInput(f"name the setting to reset: {', '.join(FACTS)}")
    if value or to_default:
        _set(book, wanted[0], None if to_default else " ".join(value))
    facts = cellar_facts(book)
    if as_json:
        print_json({unit_key(fact.key, fact.holds): facts.values[fact.key] for fact in wanted})
    else:
        _print(wanted, facts)


def _set(book: Book, fact: Fact, text: str | None) -> None:
    value = None if text is None else read_fact(fact, text, settings().units)
    change_facts(book, {fact.key: value})


def _print(wanted: list[Fact], facts: Facts) -> None:
    units = settings().units
    rows = [
        (
            fact.key,
            show_fact(fact, facts.values[fact.key], units) or "-",
            fact.label,
            "set here" if fact.key in facts.given else "default",
        )
        for fact in wanted
    ]
    print_table(("setting", "value", "what it is", ""), rows)
    for fact in wanted:
        if fact.reference:
            click.echo(f"{fact.key}: {CHECK} (the default is after {fact.reference})")
