"""`cooperage upkeep`: tell, or change, the care that vessels get."""

from typing import Any

import click

from cooperage.book import Book, Upkeep
from cooperage.cli.shared.desk import json_option, open_book, plain, print_json, print_table, settings
from cooperage.errors import BadInput
from cooperage.programme.upkeep.care import CARES, Group, care_of, care_texts, change_care, parse_care
from cooperage.units import counted


class NobodyNamed(BadInput):
    """No vessel, and nothing that barrels have in common."""

    def __init__(self) -> None:
        super().__init__("name a vessel, or barrels by --room, --lot or --wood")


def _options(command: click.Command) -> click.Command:
    """Give the command an option for every interval and limit, from their declarations."""
    for care in CARES:
        about = f"{care.label[:1].upper()}{care.label[1:]}{': ' if care.choices else ''}{', '.join(care.choices)}."
        command.params.append(
            click.Option([f"--{care.name}", care.field], metavar=(care.count or care.holds.value).upper(), help=about)
        )
    return command


@_options
@click.command("upkeep")
@click.argument("tags", nargs=-1, metavar="[TAG]...")
@click.option("--room", metavar="ROOM", help="Barrels that lie there.")
@click.option("--lot", metavar="LOT", help="Barrels that mostly hold it.")
@click.option("--wood", metavar="WOOD", help="Barrels of that wood.")
@json_option
@click.pass_context
def upkeep_command(
    ctx: click.Context,
    /,
    tags: tuple[str, ...],
    room: str | None,
    lot: str | None,
    wood: str | None,
    *,
    as_json: bool,
    **given: Any,  # noqa: ANN401 - what click hands over
) -> None:
    """Tell, or change, the care vessels get: intervals (in days) and limits.

    What is not given stays as it is; the word 'default' lets the cellar's default stand again.
    """
    book = open_book(ctx)
    wanted = list(tags) or _group(book, Group(room, lot, wood))
    changed = {care.name: given[care.field] for care in CARES if given[care.field] is not None}
    if changed:
        wanted = change_care(book, wanted, parse_care(changed, settings().units))
    cares = care_of(book, wanted)
    if as_json:
        rows = [{"tag": tag} | plain(care) for tag, care in cares.items()]
        print_json(next(iter(cares.values())) if len(tags) == 1 else rows)
    else:
        _print(cares)
        if changed:
            click.echo(f"changed: {counted(len(cares), 'vessel')}")


def _group(book: Book, group: Group) -> list[str]:
    if group == Group():
        raise NobodyNamed
    return group.tags(book.cellar())


def _print(cares: dict[str, Upkeep]) -> None:
    units = settings().units
    texts = {tag: care_texts(care, units) for tag, care in cares.items()}
    if len(texts) > 1:
        print_table(
            ("vessel", *(care.name for care in CARES)), [(tag, *shown.values()) for tag, shown in texts.items()]
        )
        return
    for tag, shown in texts.items():
        click.echo(tag)
        for care in CARES:
            click.echo(f"  {care.label:<22} {shown[care.name] or '-'} {care.count}".rstrip())
