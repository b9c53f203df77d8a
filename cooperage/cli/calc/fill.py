"""`calc fill`: what a profile asks of a fill; `calc label`: what may be stated of a strength.

They need no cellar, and go by the one that is there.
"""

from textwrap import fill
from typing import Any

import click

from cooperage.cli.calc.desk import CannotCalculate
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import NumberRange, json_option, number, open_book_if_there, print_json, settings
from cooperage.cli.shared.profile import profile_option
from cooperage.units import Quantity, local_day, read, read_volume

_ONE_UP = NumberRange(min=0, min_open=True)


def _rules(ctx: click.Context, name: str | None) -> Any:  # noqa: ANN401 - a Profile, which calc loads only here
    """Return the rules of a profile as they hold today, with the cellar's own values where there is a cellar."""
    from datetime import datetime

    from cooperage.programme.rules.kept import USUAL, profile_named
    from cooperage.programme.rules.profile import profile_of, profile_with

    book = open_book_if_there(ctx)
    if book is None:
        return profile_with((), profile_named(name or USUAL), datetime.now().astimezone().date())
    with book.reading() as connection:
        return profile_of(connection, local_day(book.now()), name)


def _print_reference(rules: Any) -> None:  # noqa: ANN401 - a Profile
    """Name the rules, those of their values that are the cellar's own, and whom to ask."""
    from cooperage.programme.rules.figure import CHECK, RuleMark

    own = [each.name for each in rules.figures if each.mark is RuleMark.OWN]
    values = f"with the cellar's own {', '.join(own)}" if own else "as shipped"
    click.echo(f"By the {rules.name} rules {values}. A reference: {CHECK}.")


@command(
    "fill",
    "cooperage calc fill 750ml --varies 1.5 --profile EU",
    "cooperage calc fill 750ml 750.2 749.1 751.4 --profile US --json",
    "cooperage calc fill 750ml --varies 2 --lot-size 1200 --profile UK",
)
@click.argument("size", help="Nominal volume, such as 750ml.")
@click.argument("volumes", nargs=-1, type=number, help="Volumes found at 20 °C, in ml.")
@profile_option
@option("--varies", "spread", metavar="ML", type=_ONE_UP, help="Standard deviation of the line, without volumes.")
@option(
    "--lot-size",
    "lot",
    metavar="BOTTLES",
    type=click.IntRange(min=1),
    help="Size of the lot that an inspector would judge.",
)
@option("--destructive", is_flag=True, help="By the plan for bottles that are opened.")
@option("--second", is_flag=True, help="The volumes are of both samples together.")
@option("--most-short", metavar="ML", type=_ONE_UP, help="Largest shortage of one bottle that your authority allows.")
@option("--averages", metavar="'ML ML'", default="", help="Averages of the last tax periods, oldest first (US).")
@json_option
@click.pass_context
def fill_command(ctx: click.Context, /, size: str, volumes: tuple[float, ...], *, as_json: bool, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Calculate the mean to set a line to, and judge bottles and lots by the rules of a profile.

    The cellar's own values go before those that are shipped; without a cellar the default is US.

    Source: the target by Dir. 76/211/EEC and the packers' rules after it, for a normal spread; plans by its Annex II
    and SI 2006/659 Sch. 2; each bottle and averages by 27 CFR 24.255 and NIST Handbook 133 (2026) chapter 2.
    """
    from cooperage.programme.bottling_risks.judged import FillAsked, fill_lines, fill_row, judge_fill
    from cooperage.programme.bottling_risks.risk import COLUMNS
    from cooperage.programme.rules.kept import USUAL

    if not volumes and given["spread"] is None and not given["averages"]:
        raise CannotCalculate("give volumes that were found, or how much the line --varies, or --averages")
    rules = _rules(ctx, given["profile"])
    if given["averages"] and rules.name != USUAL:
        raise CannotCalculate("--averages are of US tax periods (27 CFR 24.255); leave them out, or give --profile US")
    asked = FillAsked(
        read_volume(size),
        volumes,
        spread_ml=given["spread"],
        lot=given["lot"],
        destructive=given["destructive"],
        second=given["second"],
        most_short_ml=given["most_short"],
        averages_ml=[number(each) for each in given["averages"].split()],
    )
    found = judge_fill(rules, asked)
    if as_json:
        print_json(fill_row(found))
        return
    for line in fill_lines(found, settings().units):
        click.echo(fill(line, COLUMNS, subsequent_indent="  "))
    _print_reference(rules)


@command(
    "label",
    "cooperage calc label 13.5 --strength 12.9",
    "cooperage calc label 12-14 --strength 12.9 --profile US --json",
)
@click.argument("stated", help="What the label states: a strength such as 13.5, or a range such as 12-14.")
@option("--strength", metavar="STRENGTH", required=True, help="What it really is, as it was measured.")
@profile_option
@json_option
@click.pass_context
def label_command(ctx: click.Context, stated: str, strength: str, profile: str | None, as_json: bool) -> None:
    """Compare a strength or a range that a label states with the real one, by the rules of a profile.

    The cellar's own values go before those that are shipped; without a cellar the default is US.

    Source: tolerances and widest ranges: 27 CFR 4.36(b), 24.257; Reg. (EU) 1169/2011 Annex XII. A reference, no advice.
    """
    from cooperage.programme.rules.label import label_words, read_stated

    units, rules = settings().units, _rules(ctx, profile)
    low, high = read_stated(stated, units)
    found = label_words(rules, low, high, float(read(Quantity.STRENGTH, strength, units)), units)
    if as_json:
        row = {"profile": rules.name, "stated_low_percent": low, "stated_high_percent": high, "is_ok": found.is_ok}
        print_json(row | {"words": list(found.lines)})
        return
    for line in found.lines:
        click.echo(line)
    _print_reference(rules)
