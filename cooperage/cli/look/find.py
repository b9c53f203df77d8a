"""`cooperage find`: one search over all that has a name or was written down."""

import click

from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.programme.search.everything import everything_with
from cooperage.units import DEFAULT


@command("find", "cooperage find vinegar", "cooperage find B-01 --json")
@click.argument("words", nargs=-1, required=True, help="Part of a tag, a code, a name or a note, in capitals or not.")
@json_option
@click.pass_context
def find_command(ctx: click.Context, words: tuple[str, ...], as_json: bool) -> None:
    """Find vessels, lots, bottlings, flights, and entries by the words of their notes."""
    book = open_book(ctx)
    text = " ".join(words)
    found = everything_with(book, book.cellar(), text, DEFAULT if as_json else settings().units)
    if as_json:
        print_json(found)
        return
    rows = [(each.kind, each.vessel or "" if each.kind == "entry" else each.name, each.words) for each in found]
    print_table(("what", "name", "words"), rows, empty=f"Nothing has “{text}” in its name or its words.")
