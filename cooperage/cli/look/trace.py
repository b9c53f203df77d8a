"""`cooperage trace CODE`: where a bottling comes from, where a lot went, what a hand or a span of days reached."""

from shutil import get_terminal_size
from typing import Any

import click

from cooperage.book.bottles import BottleStock, bottle_stock, stock_of, where_words
from cooperage.book.declared.substances import SUBSTANCES
from cooperage.book.errors import NothingToTrace
from cooperage.book.trace import Trace, barrel_words, share_words
from cooperage.cli.look.shown import volume
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import CODES
from cooperage.cli.shared.desk import (
    BadCall,
    json_option,
    open_book,
    plain,
    print_json,
    settings,
    since_option,
    until_option,
)
from cooperage.errors import BadInput
from cooperage.programme.recall.asked import BACK, FORWARD, RecallQuestion, recall
from cooperage.programme.recall.claims import LabelClaims, label_claims
from cooperage.programme.recall.found import Recall
from cooperage.programme.recall.words import claim_lines, row_lines, tree_lines
from cooperage.units import counted, read_span, unit_written


@command(
    "trace",
    "cooperage trace SALT-25",
    "cooperage trace LB-24 --json",
    "cooperage trace HE-24 --forward --table",
    "cooperage trace SALT-25 --back --tree",
    "cooperage trace --hand Jory --since 2025-11-01 --until 2025-11-30",
    "cooperage trace B-001 --list",
    "cooperage trace SALT-25 --claims --json",
    "cooperage trace SALT-25 --back --json",
)
@click.argument(
    "code",
    required=False,
    shell_complete=CODES,
    help="Code of a bottling or a lot, tag of a vessel, or id of an entry; without it, --hand or a span.",
)
@option("--forward", "way", flag_value=FORWARD, help="On to every vessel and bottling it reached.")
@option("--back", "way", flag_value=BACK, help="Back to lots, barrels, additions and hands.")
@option("--hand", metavar="NAME", default="", help="Only what this hand did.")
@since_option
@until_option
@option("--tree", "shape", flag_value="tree", help="Show the paths as a tree.")
@option("--table", "shape", flag_value="table", help="Show a line a place.")
@option("--list", "shape", flag_value="list", help="Print the recall list: what to stop, what to call back.")
@option("--claims", "shape", flag_value="claims", help="Show what stands behind a label: age in wood, honeys, woods.")
@option("--csv", "paper", flag_value="csv", help="With --list: print CSV, in litres.")
@option("--html", "paper", flag_value="html", help="With --list: print a page for a browser.")
@json_option
@click.pass_context
def trace_command(
    ctx: click.Context,
    code: str | None,
    way: str | None,
    hand: str,
    since: str | None,
    until: str | None,
    shape: str | None,
    paper: str | None,
    as_json: bool,
) -> None:
    """Trace a bottling back to its lots and barrels, or a lot forward to its bottlings.

    A vessel goes back by itself; with --forward, all it held (in the span, if one is given) is followed on. An entry, a
    hand or a span goes forward. Shares are in proportion: liquid in a vessel is mixed.
    """
    if paper is not None and (shape != "list" or as_json):
        raise BadCall(click.UsageError(f"--{paper} goes with --list"))
    book = open_book(ctx)
    question = RecallQuestion(code or "", hand, read_span(since, until, book.now()), way or "")
    if shape == "claims":
        _print_claims(label_claims(book, question.code), as_json=as_json)
    elif shape == "list":
        _print_list(book, question, paper, as_json=as_json)
    else:
        found = _answer(book, question)
        if as_json:
            print_json(_record(found) | {"stock": _record_of_stock(_stock(book, found.trace))})
        elif shape is not None or way is not None or found.trace is None or since or until:
            lines = tree_lines if shape == "tree" else row_lines
            click.echo("\n".join(lines(found, settings().units)))
        else:
            _print_shares(found.trace, _stock(book, found.trace))


def _print_shares(found: Trace, stock: list[BottleStock]) -> None:
    bottles = f", {counted(found.bottles, 'bottle')}" if found.bottles else ""
    click.echo(f"{found.code}: {found.kind}, {volume(round(1000 * found.litres))}{bottles}")
    for title, shares in (("lots", found.lots), ("barrels", found.barrels), ("is now in", found.now)):
        for share in shares:
            name = barrel_words(share, found)
            part = share_words(share.fraction, settings().units, digits=2)
            held = volume(round(1000 * share.litres))
            click.echo(f"  {title:<10} {name:<24} {part:>8}  {held:>11}")
    if stock:
        click.echo(f"  {'bottles':<10} {where_words(stock)}")


def _stock(book: Any, found: Trace | None) -> list[BottleStock]:  # noqa: ANN401 - a Book
    if found is None or found.kind != "bottling":
        return []
    with book.reading() as connection:
        return stock_of(bottle_stock(connection), found.code)


def _record_of_stock(stock: list[BottleStock]) -> list[dict[str, Any]]:
    return [{"place": each.place, "bottles": each.bottles} for each in stock]


def _print_claims(claims: LabelClaims, *, as_json: bool) -> None:
    if as_json:
        least = {f"least_{name}": claims.least(getattr(claims, name)) for name in ("honeys", "woods", "past_lives")}
        print_json(plain(claims) | {name: plain(share) for name, share in least.items()})
        return
    click.echo("\n".join(claim_lines(claims, settings().units)))


def _print_list(book: Any, question: RecallQuestion, paper: str | None, *, as_json: bool) -> None:  # noqa: ANN401 - a Book
    from cooperage.exchange.reports.printed import report_page, report_text
    from cooperage.exchange.reports.recalled import recall_report
    from cooperage.exchange.reports.reports import as_csv, as_records

    units = settings().units
    report = recall_report(book, question, settings().hand)
    if as_json:
        print_json({"title": report.title, "times_in": "UTC", "rows": as_records(report), "foot": report.foot})
    elif paper == "csv":
        click.echo(as_csv(report), nl=False)
    elif paper == "html":
        click.echo(report_page(book, report, units), nl=False)
    else:
        click.echo(report_text(book, report, units, get_terminal_size().columns), nl=False)


def _record(found: Recall) -> dict[str, Any]:
    """Return a recall as scripts read it: the shares of a code as they ever were, then the rows [L], tree and hands."""
    record: dict[str, Any] = plain(found.trace) if found.trace is not None else {}
    rows = [
        {name: value for name, value in plain(row).items() if name != "ml"} | {"volume_l": row.ml / 1000}
        for row in found.rows
    ]
    tree = [
        {name: value for name, value in plain(each).items() if name != "ml"} | {"volume_l": each.ml / 1000}
        for each in found.tree
    ]
    return record | {
        "title": found.title,
        "direction": found.direction,
        "volume_l": found.ml / 1000,
        "found_by_gauges_l": found.gained_ml / 1000,
        "rows": rows,
        "tree": tree,
        "additions": [
            plain(dose) | {"unit": unit_written(SUBSTANCES[dose.substance].quantity)} for dose in found.doses
        ],
        "honeys": plain(found.honeys),
        "hands": found.hands,
    }


def _answer(book: Any, question: RecallQuestion) -> Recall:  # noqa: ANN401 - a Book
    try:
        return recall(book, question)
    except NothingToTrace:
        _name_bottlings_of_run(book, question.code)
        raise


class TracedByBottling(BadInput):
    """A bottling run that was closed into several bottlings, each of which is traced by its own code."""

    def __init__(self, code: str, bottlings: list[str]) -> None:
        super().__init__(f"run {code} was closed into {', '.join(bottlings)}; trace each by its code")


def _name_bottlings_of_run(book: Any, code: str) -> None:  # noqa: ANN401 - a Book
    from cooperage.programme.bottling.stored import codes_of, runs_in

    with book.reading() as connection:
        for run in runs_in(connection):
            if run.code.casefold() == code.strip().casefold() and (bottlings := codes_of(connection, run)):
                raise TracedByBottling(run.code, bottlings)
