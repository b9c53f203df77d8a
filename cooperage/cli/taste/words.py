"""`cooperage taste words`: the cellar's own vocabulary, attributes to score and tasting words."""

from typing import Any

import click

from cooperage.cli.shared.command import CommandGroup, WordChoice, command, option
from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table
from cooperage.tasting.flights.starter import INTENSITY
from cooperage.tasting.flights.vocabulary import (
    ATTRIBUTE,
    KINDS_OF_TERM,
    PARTS,
    Term,
    add_term,
    rename_term,
    retire_term,
    vocabulary,
)

kind_argument = click.argument("kind", type=WordChoice(KINDS_OF_TERM), metavar="KIND", help="Either attribute or word.")
name_argument = click.argument("name", metavar="NAME", help="Its name, such as oak, or 'lime blossom'.")


def _term_row(term: Term) -> dict[str, Any]:
    """Return a term as scripts read it; part and scale are an attribute's."""
    row: dict[str, Any] = {"kind": term.kind, "name": term.name, "family": term.family}
    if term.kind == ATTRIBUTE:
        row |= {"part": term.part, "scale": term.scale}
    else:
        row |= {"is_fault": term.is_fault}
    return row | {"formerly": term.formerly, "retired_at": term.retired_at}


@command("list", "cooperage taste words list", "cooperage taste words list --kind attribute --json")
@option(
    "--kind", type=WordChoice((*KINDS_OF_TERM, "any")), metavar="KIND", default="any", help="Only attribute or word."
)
@option("--retired", is_flag=True, help="Retired ones too.")
@json_option
@click.pass_context
def list_command(ctx: click.Context, kind: str, retired: bool, as_json: bool) -> None:
    """List the attributes and tasting words in use, in the order a glass is tasted."""
    terms = [term for term in vocabulary(open_book(ctx), with_retired=retired) if kind in (term.kind, "any")]
    if as_json:
        print_json([_term_row(term) for term in terms])
        return
    rows = [(term.kind, term.name, term.family, _about(term)) for term in terms]
    print_table(("kind", "name", "family", ""), rows, empty="nothing is in use")


def _about(term: Term) -> str:
    parts = [f"{term.part}, {term.scale}" if term.kind == ATTRIBUTE else "a fault" if term.is_fault else ""]
    parts += [f"formerly {', '.join(term.formerly)}"] if term.formerly else []
    parts += ["retired"] if term.retired_at else []
    return "; ".join(part for part in parts if part)


@command(
    "add",
    "cooperage taste words add word 'salt air' --family nose",
    "cooperage taste words add attribute salt --part palate --family salt --scale '0-100 mm' --json",
)
@kind_argument
@name_argument
@option("--family", metavar="TEXT", default="", help="What it belongs to: honey, fruit, oak, spirit, acidity, ...")
@option(
    "--part", type=WordChoice(PARTS), metavar="PART", default="palate", help=f"Of an attribute: {', '.join(PARTS)}."
)
@option("--scale", metavar="LOW-HIGH", default=INTENSITY, show_default=True, help="Of an attribute: its usual scale.")
@option("--fault", is_flag=True, help="The word names a fault.")
@json_option
@click.pass_context
def add_command(
    ctx: click.Context, kind: str, name: str, family: str, part: str, scale: str, fault: bool, as_json: bool
) -> None:
    """Add an attribute or a tasting word; one that was retired is in use again."""
    added = add_term(open_book(ctx), kind, name, family=family, part=part, scale=scale, is_fault=fault)
    _print_changed(added, "added", as_json=as_json)


@command(
    "rename", "cooperage taste words rename word hay 'dry hay'", "cooperage taste words rename word hay straw --json"
)
@kind_argument
@name_argument
@click.argument("new_name", metavar="NEW-NAME", help="What it is called from now on, everywhere.")
@json_option
@click.pass_context
def rename_command(ctx: click.Context, kind: str, name: str, new_name: str, as_json: bool) -> None:
    """Write another name for an attribute or a word; it is still found by the old one."""
    _print_changed(rename_term(open_book(ctx), kind, name, new_name), "renamed", as_json=as_json)


@command("retire", "cooperage taste words retire word dill", "cooperage taste words retire attribute clarity --json")
@kind_argument
@name_argument
@json_option
@click.pass_context
def retire_command(ctx: click.Context, kind: str, name: str, as_json: bool) -> None:
    """Retire an attribute or a word; what was scored and written with it stays."""
    _print_changed(retire_term(open_book(ctx), kind, name), "retired", as_json=as_json)


def _print_changed(term: Term, done: str, *, as_json: bool) -> None:
    if as_json:
        print_json(_term_row(term))
    else:
        click.echo(f"{done} {term.kind} {term.name}")


words_command = CommandGroup(
    "words",
    help="List and change the words of tasting: attributes to score, words for what is smelled and tasted.",
    commands=[list_command, add_command, rename_command, retire_command],
    examples=("cooperage taste words list",),
)
