"""`cooperage upkeep`: show, or change, the topping and check schedule of vessels."""

from typing import Any

import click

from cooperage.book import Book, Upkeep
from cooperage.cli.shared.command import Option, command, option
from cooperage.cli.shared.complete import LOTS, ROOMS, TAGS, tag_argument
from cooperage.cli.shared.desk import json_option, open_book, plain, print_json, print_table, settings
from cooperage.errors import BadInput
from cooperage.programme.upkeep.care import CARES, Group, care_of, care_texts, change_care, parse_care
from cooperage.units import Quantity, Units, counted, show


class NoVesselNamed(BadInput):
    """No vessel, and nothing that barrels have in common."""

    def __init__(self) -> None:
        super().__init__("name a vessel, or barrels by --room, --lot or --wood")


def _options(command: click.Command) -> click.Command:
    """Give the command an option for every interval and limit, from their declarations."""
    for care in CARES:
        about, metavar = _ABOUT[care.name]
        completer = TAGS if metavar == "TAG" else None
        command.params.append(
            Option([f"--{care.name}", care.field], metavar=metavar, help=about, shell_complete=completer)
        )
    return command


_ABOUT = {
    "topping": ("When it is topped: interval, level, opened or never.", "POLICY"),
    "every": ("Days from one topping to the next.", "DAYS"),
    "below": ("Counts as low when short by this much.", "VOLUME"),
    "taste-every": ("Days from one tasting to the next.", "DAYS"),
    "sulphite-every": ("Days from one SO2 reading to the next.", "DAYS"),
    "sniff-every": ("Days from one sniff to the next while it is empty.", "DAYS"),
    "molecular-floor": ("Least molecular SO2, such as 0.5 mg/L.", "MG/L"),
    "va-ceiling": ("Most volatile acidity, such as 0.8 g/L.", "G/L"),
    "from": ("Keg or tank it is topped from.", "TAG"),
}
"""The help of each interval and limit, and what it takes; `tests/cli/test_the_tree.py` fails where one is missing."""


@_options
@command(
    "upkeep",
    "cooperage upkeep B-001",
    "cooperage upkeep --room Loft --every 21",
    "cooperage upkeep B-001 B-002 --every default --below 1.5l --json",
)
@tag_argument("tags", nargs=-1, metavar="[TAG]...", help="Tags of vessels.")
@option("--room", metavar="ROOM", shell_complete=ROOMS, help="All barrels in this room.")
@option("--lot", metavar="LOT", shell_complete=LOTS, help="All barrels holding mostly this lot.")
@option("--wood", metavar="WOOD", help="All barrels of this wood, such as 'sessile oak'.")
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
    """Show or change the topping and check schedule of vessels: intervals in days, and limits.

    What you do not give stays as it is; the word 'default' resets it to the cellar's default.
    """
    book = open_book(ctx)
    wanted = list(tags) or _group(book, Group(room, lot, wood))
    changed = {care.name: given[care.field] for care in CARES if given[care.field] is not None}
    if changed:
        wanted = change_care(book, wanted, parse_care(changed, settings().units))
    cares = care_of(book, wanted)
    if as_json:
        rows = [{"tag": tag} | _row(care) for tag, care in cares.items()]
        print_json(rows[0] if len(tags) == 1 else rows)
    else:
        _print(cares)
        if changed:
            click.echo(f"changed: {counted(len(cares), 'vessel')}")


def _row(care: Upkeep) -> dict[str, Any]:
    """Return the schedule as scripts read it, volumes in litres."""
    row: dict[str, Any] = plain(care)
    below = row.pop("top_below_ml")
    return row | {"top_below_l": None if below is None else below / 1000}


def _group(book: Book, group: Group) -> list[str]:
    if group == Group():
        raise NoVesselNamed
    return group.tags(book.cellar())


def _volumes(care: Upkeep, units: Units) -> dict[str, str]:
    """Return the volumes of a schedule with the digits of their unit; a form shows more, to read back the same."""
    held = {each.name: getattr(care, each.field) for each in CARES if each.holds is Quantity.VOLUME}
    return {name: show(Quantity.VOLUME, value, units) for name, value in held.items() if value is not None}


def _print(cares: dict[str, Upkeep]) -> None:
    units = settings().units
    texts = {tag: care_texts(care, units) | _volumes(care, units) for tag, care in cares.items()}
    if len(texts) > 1:
        print_table(
            ("vessel", *(care.name for care in CARES)), [(tag, *shown.values()) for tag, shown in texts.items()]
        )
        return
    for tag, shown in texts.items():
        click.echo(tag)
        for care in CARES:
            click.echo(f"  {care.label:<22} {shown[care.name] or '-'} {care.count}".rstrip())
