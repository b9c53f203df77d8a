"""`cooperage cellar`: facts of the cellar as a whole, told and set."""

import click

from cooperage.book import Book
from cooperage.book.facts import CHECK, FACTS, Fact, Facts, fact_named, facts_of, read_fact, set_fact, show_fact
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.errors import BadInput


@click.command("cellar")
@click.argument("key", required=False)
@click.argument("value", nargs=-1)
@click.option("--default", "to_default", is_flag=True, help="Let the fact stand at its default again.")
@json_option
@click.pass_context
def cellar_command(
    ctx: click.Context, key: str | None, value: tuple[str, ...], *, to_default: bool, as_json: bool
) -> None:
    """Tell the facts of the cellar, or set one: its name, loss allowance, class lines, usual climate.

    `cooperage cellar loss_allowance 2.5`; several class lines are set apart by semicolons: "8.5; 14; 16".
    Allowance and class lines are references; check them with your authority.
    """
    book = open_book(ctx)
    wanted = list(FACTS.values()) if key is None else [fact_named(key)]
    if value and to_default:
        raise BadInput("a value and --default say two different things; give one of them")
    if to_default and key is None:
        raise BadInput("name the fact that is to stand at its default again")
    if value or to_default:
        _set(book, wanted[0], None if to_default else " ".join(value))
    with book.reading() as connection:
        facts = facts_of(connection)
    if as_json:
        print_json({fact.key: facts.values[fact.key] for fact in wanted})
    else:
        _print(wanted, facts)


def _set(book: Book, fact: Fact, text: str | None) -> None:
    value = None if text is None else read_fact(fact, text, settings().units)
    with book.writing() as session:
        set_fact(session.connection, fact, value)


def _print(wanted: list[Fact], facts: Facts) -> None:
    units = settings().units
    rows = [
        (
            fact.key,
            show_fact(fact, facts.values[fact.key], units) or "-",
            fact.label,
            "set here" if fact.key in facts.given else "the default",
        )
        for fact in wanted
    ]
    print_table(("fact", "value", "what it is", ""), rows)
    for fact in wanted:
        if fact.reference:
            click.echo(f"{fact.key}: {CHECK} (the default is after {fact.reference})")
