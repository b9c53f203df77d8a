"""`cooperage rounds`: what is due, in walking order."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

import click

from cooperage.book import Cellar, utc_now
from cooperage.book.dangers.dangers import Caution
from cooperage.book.vessel_words import chalked_place
from cooperage.cli.look.shown import level_row
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import (
    json_option,
    open_book,
    print_cautions_once,
    print_json,
    print_table,
    settings,
)
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now
from cooperage.programme.losses.ledger import loss_rates
from cooperage.programme.losses.level import format_short
from cooperage.programme.ready.readiness import looks_due
from cooperage.programme.rounds.due import Due, all_coming, next_task, rounds
from cooperage.programme.rounds.worth import (
    NOTHING_WORTH,
    WORTH_FOOT,
    WORTH_HEAD,
    ReadingWorth,
    readings_worth_most,
    worth_cells,
)
from cooperage.programme.upkeep.beginnings import missing, nothing_due
from cooperage.programme.upkeep.cautions import cautions_of_task, cautions_of_walk, why_and_caution
from cooperage.programme.walk.part_of_walk import TASK_WORDS, read_filter
from cooperage.units import DEFAULT, Units, read_span, show_day


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


@command(
    "rounds",
    "cooperage rounds",
    "cooperage rounds --by 2026-12-24",
    "cooperage rounds --only so2",
    "cooperage rounds --only Low --json",
    "cooperage rounds --worth",
)
@option("--by", "by_day", metavar="DATE", formerly=("--on",), help="Also what falls due by the end of this day.")
@option("--only", metavar="TASK-OR-ROOM", default="", help="Only one task, such as so2 or taste, or one room.")
@option("--worth", is_flag=True, help="Show instead which readings are worth most: those that may change an answer.")
@json_option
@click.pass_context
def rounds_command(ctx: click.Context, by_day: str | None, only: str, *, worth: bool, as_json: bool) -> None:
    """Show what is due, in walking order: topping, gauging, sampling, sniffing."""
    if worth and (by_day is not None or only):
        raise BadInput("give --worth by itself: it shows what readings are worth now, in all the cellar")
    book = open_book(ctx)
    if worth:
        _print_worth(cellar_now(book), as_json=as_json)
        return
    by = None if by_day is None else read_span(None, by_day, utc_now()).last
    cellar = cellar_now(book)
    rates = loss_rates(book, cellar)
    chosen = read_filter(only, cellar)
    units = DEFAULT if as_json else settings().units
    looks = looks_due(book, cellar)
    due = chosen.chosen_due(rounds(cellar, by, rates, units, looks))
    if as_json:
        print_json([due_row(each, cellar) for each in due])
        return
    minded = cautions_of_walk(((d.task, d.barrel, d.keg) for d in due), cellar, settings().units)
    rows = [_stop_row(tag, list(tasks), cellar) for tag, tasks in groupby(zip(due, minded, strict=True), key=_barrel)]
    empty = ""
    if not rows:
        coming = all_coming(cellar, cellar.at, rates, units, looks)
        empty = f"nothing is due of '{only}'" if only else nothing_due(cellar, next_task(cellar, coming))
    print_table(("where", "barrel", "do", "since", "expect", "why"), rows, empty=empty)
    print_cautions_once(minded)


_Minded = tuple[Due, Sequence[Caution]]


def _barrel(task: _Minded) -> str:
    return task[0].barrel


def _stop_row(tag: str, tasks: Sequence[_Minded], cellar: Cellar) -> tuple[str, ...]:
    """Return a vessel with all that is to do there, since when, and each reason."""
    due = [each for each, _ in tasks]
    words = [TASK_WORDS[each.task] for each in due]
    whys = [why_and_caution(each.why, found) for each, found in tasks]
    reasons = [f"{word}: {why}" for word, why in zip(words, whys, strict=True)] if len(due) > 1 else whys
    return (
        chalked_place(cellar[tag].position),
        tag,
        ", ".join(words),
        show_day(min(each.due for each in due)),
        next(filter(None, map(expected_words, due)), ""),
        "; ".join(filter(None, (*reasons, due[0].warning))),
    )


def _print_worth(cellar: Cellar, *, as_json: bool) -> None:
    """Print the readings that are worth most."""
    found = readings_worth_most(cellar, DEFAULT if as_json else settings().units)
    if as_json:
        print_json([_worth_row(each, cellar) for each in found])
        return
    rows = [(chalked_place(cellar[each.vessel].position), *worth_cells(each, settings().units)) for each in found]
    empty = missing(cellar) or NOTHING_WORTH
    print_table(("where", *WORTH_HEAD), rows, right=(6,), empty=empty)
    if rows:
        click.echo(WORTH_FOOT)


def _worth_row(worth: ReadingWorth, cellar: Cellar) -> dict[str, Any]:
    """Return a reading and its worth as scripts read it."""
    percents = {"chance": worth.chance, "low": worth.low, "high": worth.high}
    return {
        "vessel": worth.vessel,
        "property": worth.name,
        "decides": worth.decides.value,
        "what": worth.what,
        **{f"{name}_percent": 100 * share for name, share in percents.items()},
        "spared_l": worth.spared_l,
        "position": list(cellar[worth.vessel].position),
    }


def expected_words(due: Due) -> str:
    """Return what a topping is expected to take, and from which keg; nothing where nothing is known of it."""
    if due.expected_ml is None or due.level is None:
        return ""
    return f"{format_short(due.level, settings().units)} from {due.keg or '?'}"
