"""`cooperage today`: the day at a glance."""

import click

from cooperage.book.words import entry_line
from cooperage.cli.orders.shown import order_row, print_open
from cooperage.cli.shared.command import command
from cooperage.cli.shared.desk import json_option, open_book, print_cautions_once, print_json, print_table, settings
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.bottling.words import open_words
from cooperage.programme.ready.readiness import in_turn
from cooperage.programme.ready.words import ready_brief, ready_line
from cooperage.programme.signs.sign import SignState
from cooperage.programme.today.aside import Aside, aside_of
from cooperage.programme.today.day_walk import DayWalk
from cooperage.programme.today.glance import Today, today_of
from cooperage.programme.today.matters import Matter
from cooperage.programme.today.words import (
    NOTHING_WRONG,
    besides_words,
    carry_words,
    counts_words,
    figure_in_words,
    flights_words,
    full_words,
    keg_words,
    later_words,
    month_words,
    reason_words,
    sure_column,
    two_people_words,
    wood_words,
)
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import DEFAULT, Quantity, Units, show, show_when

_MARKS = {SignState.TROUBLE: "▲", SignState.DUE: "○", SignState.KNOWN: "·"}


@command("today", "cooperage today", "cooperage today --json")
@json_option
@click.pass_context
def today_command(ctx: click.Context, as_json: bool) -> None:
    """Show the day at a glance: what is wrong, the orders, the walk by room, what to carry, the last entry.

    ▲ is trouble, the worst first, by what a month of waiting puts at stake and how sure it is; ○ is due; · is good to
    know. Figures of now stand with the band in which they lie 90 times in 100.
    """
    book = open_book(ctx)
    cellar = cellar_now(book)
    units = DEFAULT if as_json else settings().units
    today = today_of(book, cellar, units)
    aside = aside_of(book, cellar, today.rates)
    if as_json:
        print_json(_as_row(today, aside))
    else:
        _print(today, aside, units)


def _print(today: Today, aside: Aside, units: Units) -> None:
    name = f"  {today.name}" if today.name else ""
    click.echo(f"{show_when(today.cellar.at)}{name}: {full_words(today)}   {counts_words(today)}")
    head = ("look first", "", "figure", "why", "sure", "what to do")
    print_table(head, [_cells(each) for each in today.matters], empty=missing(today.cellar) or NOTHING_WRONG)
    if today.orders:
        click.echo()
        print_open(today.orders)
    for planned in today.planned:
        click.echo(f"flight: {planned.words}")
    click.echo()
    _print_walk(today.walk, units)
    for line in (carry_words(today.walk, units)[0], two_people_words(today)):
        if line:
            click.echo(line)
    ready = " · ".join(ready_line(aside.ready))
    panel = flights_words(aside, today)
    wood = " · ".join(wood_words(today, aside))
    asides = (("wood", wood), ("ready", ready), ("panel", panel), ("period", later_words(aside)))
    for what, words in (*asides, ("bottling", open_words(aside.runs))):
        if words:
            click.echo(f"{what}: {words}")
    click.echo(f"lost: {month_words(aside.month, today.walk, units)[0]}")
    if today.last is not None:
        click.echo(f"last entry: {entry_line(today.last, units, short=True)}")
    print_cautions_once(sign.cautions for sign in today.signs)


def _cells(matter: Matter) -> tuple[str, ...]:
    who = " ".join(matter.vessels)
    what, why = f"{_MARKS[matter.state]} {matter.word}", reason_words(matter)
    return what, who, figure_in_words(matter), why, sure_column(matter), matter.do


def _print_walk(walk: DayWalk, units: Units) -> None:
    rooms = [
        (work.room or "no room", str(work.stops), show(Quantity.VOLUME, work.top_ml, units), besides_words(work))
        for work in walk.rooms
    ]
    print_table(("walk", "stops", "top", "besides"), rooms, right=(1, 2), empty="Nothing is due today.")
    if walk.kegs:
        click.echo()
        kegs = [(keg.tag, keg_words(keg, units), "▲ too little" if keg.is_short else "") for keg in walk.kegs]
        print_table(("keg", f"gives of holds, {show(Quantity.VOLUME, 0, units).split()[-1]}", ""), kegs)


def _as_row(today: Today, aside: Aside) -> dict[str, object]:
    """Return the day as scripts read it."""
    usual = aside.month.usual
    return {
        "at": today.cellar.at,
        "look_first": [_matter_row(each) for each in today.matters],
        "trouble": today.signs,
        "orders": [order_row(each.order, each) for each in today.orders],
        "planned_flights": [
            {"trial": each.trial or None, "day": each.day, "vessels": each.tags} for each in today.planned
        ],
        "two_people": today.two_people,
        "stops": today.walk.stops,
        "walk": [
            {
                "room": work.room,
                "stops": work.stops,
                "top_l": work.top_ml / 1000,
                "besides": {task.value: count for task, count in work.besides.items()},
            }
            for work in today.walk.rooms
        ],
        "kegs": [{"keg": k.tag, "gives_l": k.gives_ml / 1000, "holds_l": k.holds_ml / 1000} for k in today.walk.kegs],
        "metabisulphite": {"barrels": today.walk.low, "mass_g": round(today.walk.sulphite_g, 1)},
        "full": today.full,
        "empty": today.empty,
        "neutral": aside.neutral,
        "ready": [ready_brief(each) for each in in_turn(aside.ready.values())],
        "flights": [flight.code for flight in aside.flights],
        "trial_sittings": [
            {"trial": each.trial, "sitting": each.sitting, "of": each.sittings, "day": each.day.isoformat()}
            for each in aside.sittings
        ],
        "period_later": None if aside.later is None else {"period": aside.later[0], "entries": aside.later[1]},
        "open_runs": [run.code for run in aside.runs],
        "month": {
            "since": aside.month.since,
            "lost_l": aside.month.lost_ml / 1000,
            "usual_l": None if usual is None else usual.ml / 1000,
            "usual_band_l": None if usual is None else usual.reach_ml / 1000,
        },
        "last_entry": None if today.last is None else today.last.id,
    }


def _matter_row(matter: Matter) -> dict[str, object]:
    low, high = matter.sure or (None, None)
    return {
        "state": matter.state,
        "what": matter.word,
        "kinds": matter.kinds,
        "vessels": matter.vessels,
        "figure": figure_in_words(matter),
        "why": matter.why,
        "sure_from": low,
        "sure_to": high,
        "waiting_costs_l": matter.waiting_costs_l,
        "what_to_do": matter.do,
    }
