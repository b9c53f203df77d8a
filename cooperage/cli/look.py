"""Commands that show how the cellar stands: rounds, barrels, one barrel, signs, trace."""

from datetime import datetime
from typing import Any

import click

from cooperage.book import Cellar, Figure, Standing, utc_now
from cooperage.book.dangers.dangers import cautions
from cooperage.book.dangers.work import before_vessel
from cooperage.book.declared.properties import PROPERTIES
from cooperage.book.log import entries
from cooperage.book.trace import barrel_words, share_words
from cooperage.book.vessel_words import capacity_words, chalked_place, cooperage_words, fill_words, wood_words
from cooperage.book.words import entry_line, entry_words
from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import CODES, tag_argument
from cooperage.cli.shared.desk import (
    as_of_option,
    json_option,
    open_book,
    plain,
    print_cautions,
    print_cautions_once,
    print_json,
    print_table,
    settings,
)
from cooperage.programme.losses.ledger import LossRate, loss_rates
from cooperage.programme.losses.level import Level, format_level, format_short, level_now
from cooperage.programme.rounds.due import Due, next_due, next_task, rounds
from cooperage.programme.signs.all_signs import signs
from cooperage.programme.upkeep.beginnings import missing, nothing_due
from cooperage.programme.upkeep.cautions import cautions_of_task, cautions_of_walk, why_and_caution
from cooperage.tasting.vessels import vessel_scores
from cooperage.units import DEFAULT, Quantity, Units, counted, read_span, show, show_day, unit_written


def volume(ml: int | None) -> str:
    """Write a volume in the person's unit."""
    return show(Quantity.VOLUME, ml, settings().units)


def level_row(level: Level | None) -> dict[str, Any] | None:
    """Return a level as scripts read it [L]; `low_l` is null where it is not known how far below `value_l` it is."""
    if level is None:
        return None
    low = None if level.low is None else level.low / 1000
    return {"value_l": level.ml / 1000, "low_l": low, "high_l": level.high / 1000, "how": level.how}


def due_row(due: Due, cellar: Cellar, units: Units = DEFAULT) -> dict[str, Any]:
    """Return one due task as scripts read it."""
    expected = None if due.expected_ml is None else due.expected_ml / 1000
    return {
        "barrel": due.barrel,
        "task": due.task.value,
        "due": due.due,
        "why": due.why,
        "position": list(due.position),
        "expected_l": expected,
        "level_now_l": level_row(due.level),
        "warning": due.warning,
        "keg": due.keg,
        "overdue_days": round(due.overdue_days, 1),
        "cautions": cautions_of_task(due.task, due.barrel, cellar, due.keg, units),
    }


@command("rounds", "cooperage rounds", "cooperage rounds --by 2026-12-24", "cooperage rounds --json")
@option("--by", "by_day", metavar="DATE", formerly=("--on",), help="Also what falls due by the end of this day.")
@json_option
@click.pass_context
def rounds_command(ctx: click.Context, by_day: str | None, as_json: bool) -> None:
    """Show what is due, in walking order: topping, gauging, sampling, sniffing."""
    book = open_book(ctx)
    by = None if by_day is None else read_span(None, by_day, utc_now()).last
    cellar = book.cellar()
    rates = loss_rates(book, cellar)
    due = rounds(cellar, by, rates, DEFAULT if as_json else settings().units)
    if as_json:
        print_json([due_row(each, cellar) for each in due])
        return
    minded = cautions_of_walk(((d.task, d.barrel, d.keg) for d in due), cellar, settings().units)
    rows = [
        (
            chalked_place(cellar[d.barrel].position),
            d.barrel,
            d.task.value,
            show_day(d.due),
            _expected(d),
            why_and_caution("; ".join(filter(None, (d.why, d.warning))), found),
        )
        for d, found in zip(due, minded, strict=True)
    ]
    empty = "" if rows else nothing_due(cellar, next_task(cellar, rates))
    print_table(("where", "barrel", "task", "due", "expect", "why"), rows, empty=empty)
    print_cautions_once(minded)


def _expected(due: Due) -> str:
    if due.expected_ml is None or due.level is None:
        return ""
    return f"{format_short(due.level, settings().units)} from {due.keg or '?'}"


def _as_of(day: str | None) -> datetime | None:
    """Return the end of the day at which a cellar is to be seen, or the moment; None for now."""
    now = utc_now()
    return read_span(None, day, now).seen_at(now)


def barrel_row(standing: Standing, rate: LossRate | None = None) -> dict[str, Any]:
    """Return one vessel as scripts read it."""
    room, row, bay, tier = standing.position
    barrel = standing.vessel.barrel
    return {
        "tag": standing.tag,
        "kind": standing.vessel.kind,
        "litres": standing.litres,
        "level_now_l": level_row(level_now(standing, rate)),
        "capacity_l": standing.vessel.capacity_ml / 1000,
        "capacity_how": standing.vessel.capacity_how,
        "fills": standing.fill_number,
        "lots": standing.lots,
        "room": room,
        "row": row,
        "bay": bay,
        "tier": tier,
        "wood": barrel.wood if barrel else None,
        "past_life": barrel.past_life if barrel else None,
        "days_in_wood": standing.days_in_wood,
        "retired": standing.is_retired,
        **{name: standing.value(name) for name in PROPERTIES if name != "headspace_mm"},
        "molecular_so2_mg_l": standing.molecular_so2,
        "cost_per_l": standing.cost_per_l,
    }


@command(
    "barrels", "cooperage barrels", "cooperage barrels --kind tank", "cooperage barrels --as-of '90 days ago' --json"
)
@as_of_option
@option(
    "--kind",
    type=WordChoice(("barrel", "tank", "keg", "demijohn", "any")),
    metavar="KIND",
    default="barrel",
    show_default=True,
    help="Kind of vessel: barrel, tank, keg, demijohn (or any).",
)
@option("--retired", is_flag=True, help="Retired vessels too.")
@json_option
@click.pass_context
def barrels_command(ctx: click.Context, as_of: str | None, kind: str, retired: bool, as_json: bool) -> None:
    """List the barrels (or tanks, kegs) in walking order with what they hold."""
    book = open_book(ctx)
    cellar = book.cellar(_as_of(as_of))
    rates = loss_rates(book, cellar)
    chosen = [s for s in cellar.in_walking_order() if kind in ("any", s.vessel.kind) and (retired or not s.is_retired)]
    if as_json:
        print_json([barrel_row(standing, rates.get(standing.tag)) for standing in chosen])
        return
    empty = missing(cellar) or f"The cellar has no {'vessel' if kind == 'any' else kind} in use."
    lines = [_barrel_line(standing, rates.get(standing.tag)) for standing in chosen]
    print_table(_BARREL_HEADER, lines, right=(2, 4, 7, 8), empty=empty)


_BARREL_HEADER = ("tag", "where", "in the book", "now (90 %)", "of", "fill", "lot", "strength", "sugar")


def _barrel_line(standing: Standing, rate: LossRate | None) -> tuple[str, ...]:
    units = settings().units
    lots = list(standing.lots)
    fill = "?" if standing.fill_number is None else str(standing.fill_number)
    return (
        standing.tag,
        chalked_place(standing.position),
        "retired" if standing.is_retired else "empty" if standing.ml == 0 else volume(standing.ml),
        format_level(level_now(standing, rate), units) if standing.ml else "",
        volume(standing.vessel.capacity_ml),
        fill if standing.vessel.is_barrel else "",
        (lots[0] + (f" +{len(lots) - 1}" if len(lots) > 1 else "")) if lots else "",
        show(Quantity.STRENGTH, standing.value("abv"), units) if standing.ml else "",
        show(Quantity.SUGAR, standing.value("sugar_g_l"), units) if standing.ml else "",
    )


@command(
    "barrel", "cooperage barrel B-028", "cooperage barrel B-028 --as-of 'last month'", "cooperage barrel T-1 --json"
)
@tag_argument()
@as_of_option
@json_option
@click.pass_context
def barrel_command(ctx: click.Context, tag: str, as_of: str | None, as_json: bool) -> None:
    """Show everything about one vessel: contents, figures and their age, what is due, its history."""
    book = open_book(ctx)
    cellar = book.cellar(_as_of(as_of))
    standing = cellar[tag]
    with book.reading() as connection:
        history = entries(connection, vessel_id=standing.vessel.id, until=cellar.at)
    figures = [standing.figure(name) for name in PROPERTIES]
    rates = loss_rates(book, cellar)
    coming = next_due(standing, cellar, rates, units=DEFAULT if as_json else settings().units)
    level = level_now(standing, rates.get(standing.tag))
    found = cautions(before_vessel(standing, DEFAULT if as_json else settings().units))
    if as_json:
        barrel = barrel_row(standing, rates.get(standing.tag)) | {
            "figures": {figure.name: _figure_row(figure) for figure in figures},
            "barrel": standing.vessel.barrel,
            "due": [due_row(due, cellar) for due in coming],
            "cautions": found,
            "scores": vessel_scores(book, standing.tag),
            "entries": [plain(entry) | {"text": entry_words(entry)} for entry in history],
        }
        print_json(barrel)
        return
    _print_barrel(standing, level, figures, coming)
    print_cautions(found, err=False)
    for entry in history[-12:]:
        click.echo(f"  {entry_line(entry, settings().units, seen_from=standing.tag)}")


def _figure_row(figure: Figure) -> dict[str, Any]:
    unit = unit_written(PROPERTIES[figure.name].quantity)
    return {"value": figure.value, "unit": unit, "source": figure.source}


def _print_barrel(standing: Standing, level: Level, figures: list[Figure], coming: list[Due]) -> None:
    units, barrel = settings().units, standing.vessel.barrel
    click.echo(f"{standing.tag}  {standing.vessel.kind}  {chalked_place(standing.position)}")
    held = "retired" if standing.is_retired else f"{volume(standing.ml)} of {volume(standing.vessel.capacity_ml)}"
    click.echo(f"  book    {held} ({capacity_words(standing)})")
    if level.is_expected and not standing.is_retired:
        click.echo(f"  now     {format_level(level, units)}{'' if level.is_at_most else ' (90 %)'}: {level.how}")
    if barrel is not None:
        click.echo(f"  wood    {wood_words(standing)}, {fill_words(standing)}")
        click.echo(f"  made    {cooperage_words(barrel)}")
    for lot, share in standing.lots.items():
        click.echo(f"  lot     {lot} {100 * share:.1f} %")
    for figure in figures:
        if figure.value is not None:
            read = PROPERTIES[figure.name]
            click.echo(f"  {read.label:<20} {show(read.quantity, figure.value, units):>12}   {figure.source}")
    for due in coming:
        is_due = due.expected_ml is not None and due.due <= standing.at
        expected = f"; expect {_expected(due)}" if is_due else ""
        click.echo(f"  next    {due.task.value} {show_day(due.due)}: {due.why}{expected}")
    for warning in dict.fromkeys(due.warning for due in coming if due.warning):
        click.echo(f"  warning {warning}")


@command("signs", "cooperage signs", "cooperage signs --json")
@json_option
@click.pass_context
def signs_command(ctx: click.Context, as_json: bool) -> None:
    """Show warnings: leaks, low sulphite, climbing acidity, odd dips, forgotten empties."""
    book = open_book(ctx)
    cellar = book.cellar()
    found = signs(book, cellar, units=DEFAULT if as_json else settings().units)
    if as_json:
        print_json(found)
        return
    rows = [(s.vessel, s.kind, "" if s.since is None else show_day(s.since), s.why) for s in found]
    empty = missing(cellar) or "No sign of trouble."
    print_table(("vessel", "warning", "since", "why"), rows, empty=empty)
    print_cautions_once(sign.cautions for sign in found)


@command("trace", "cooperage trace SALT-25", "cooperage trace LB-24 --json")
@click.argument("code", shell_complete=CODES, help="Code of a bottling or a lot, or tag of a vessel.")
@json_option
@click.pass_context
def trace_command(ctx: click.Context, code: str, as_json: bool) -> None:
    """Trace a bottling back to its lots and barrels, or a lot forward to its bottlings."""
    found = open_book(ctx).trace(code)
    if as_json:
        print_json(found)
        return
    bottles = f", {counted(found.bottles, 'bottle')}" if found.bottles else ""
    click.echo(f"{found.code}: {found.kind}, {volume(round(1000 * found.litres))}{bottles}")
    for title, shares in (("lots", found.lots), ("barrels", found.barrels), ("is now in", found.now)):
        for share in shares:
            name = barrel_words(share, found)
            part = share_words(share.fraction, settings().units, digits=2)
            held = volume(round(1000 * share.litres))
            click.echo(f"  {title:<10} {name:<24} {part:>8}  {held:>11}")
