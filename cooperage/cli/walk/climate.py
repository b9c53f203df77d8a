"""`cooperage climate`: the air of the rooms, and a logger's file into the book."""

from typing import Any

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import ROOMS
from cooperage.cli.shared.desk import (
    hand_option,
    json_option,
    open_book,
    print_json,
    print_table,
    settings,
    sure_option,
)
from cooperage.cli.shared.paste import (
    dry_run_option,
    pasted_text,
    print_outcome,
    print_unread,
    unread_rows,
)
from cooperage.programme.air.climate import RECENT, MeanAir, RoomAir, room_airs
from cooperage.programme.pasted.climate_log import ClimateLog, read_log, write_log
from cooperage.units import Quantity, show, show_day


@command(
    "climate",
    "cooperage climate",
    "printf 'when,temperature,humidity\\n2026-11-01 12:00,14.5,70\\n' | cooperage climate - --room Low --dry-run",
)
@click.argument("file", required=False, help="CSV of a logger (when, temperature, humidity, perhaps room), or -.")
@option("--room", metavar="ROOM", shell_complete=ROOMS, default="", help="Room of a file without a room column.")
@hand_option
@dry_run_option
@sure_option
@json_option
@click.pass_context
def climate_command(
    ctx: click.Context, /, file: str | None, room: str, hand: str | None, *, dry_run: bool, sure: bool, as_json: bool
) -> None:
    """Show the climate of the rooms, or import a logger's FILE.

    Each day becomes one entry with the day's means; days already in the book are left as they are. One reading by hand
    is `cooperage log climate ROOM TEMPERATURE HUMIDITY`.
    """
    book, mine = open_book(ctx), settings()
    if file is None:
        _print_rooms(list(room_airs(book).values()), as_json=as_json)
        return
    log = read_log(book, pasted_text(file), room, hand or mine.hand, mine.units)
    if not as_json:
        print_unread(log.unread)
    if not dry_run:
        write_log(book, log, sure=sure)
    if as_json:
        print_json(_log_row(log, is_written=not dry_run))
        return
    print_outcome(log.words, dry_run=dry_run)


def _log_row(log: ClimateLog, *, is_written: bool) -> dict[str, Any]:
    days = [{"room": a.room, "at": a.at, "celsius": a.temperature, "humidity_percent": a.humidity} for a in log.acts]
    return {"days": days, "unread": unread_rows(log.unread), "is_written": is_written}


def _print_rooms(airs: list[RoomAir], *, as_json: bool) -> None:
    if as_json:
        print_json([{"room": air.room, "days": len(air.days), "latest": air.latest, **_means(air)} for air in airs])
    elif not airs:
        click.echo("no room's climate has been read yet; `cooperage log climate ROOM TEMPERATURE HUMIDITY` writes it")
    else:
        head = ("room", "days read", "last", "30 days to then", "", "all", "")
        print_table(head, [_line(air) for air in airs], (1, 3, 4, 5, 6))


def _means(air: RoomAir) -> dict[str, dict[str, float]]:
    means = {"recent": air.mean(air.latest - RECENT), "whole": air.mean()}
    return {name: {"celsius": mean.celsius, "humidity_percent": mean.humidity} for name, mean in means.items()}


def _line(air: RoomAir) -> tuple[str, ...]:
    return (
        air.room,
        str(len(air.days)),
        show_day(air.latest),
        *_format_climate(air.mean(air.latest - RECENT)),
        *_format_climate(air.mean()),
    )


def _format_climate(climate: MeanAir) -> tuple[str, str]:
    units = settings().units
    return show(Quantity.TEMPERATURE, climate.celsius, units), show(Quantity.PERCENT, climate.humidity, units)
