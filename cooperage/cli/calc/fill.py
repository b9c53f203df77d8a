"""`calc fill`: what a profile asks of a fill; `calc label`: what may be stated of a strength. They need no cellar."""

from textwrap import fill
from typing import Any

import click

from cooperage.cli.calc.desk import CannotCalculate
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import NumberRange, json_option, number, print_json, settings
from cooperage.cli.shared.profile import profile_option
from cooperage.units import Quantity, read, read_volume

USUAL = "US"
_ONE_UP = NumberRange(min=0, min_open=True)


def _profile(name: str | None) -> Any:  # noqa: ANN401 - a Profile, which calc loads only here
    """Return the shipped rules of a profile as they hold today; a cellar's own values are not among them."""
    from datetime import datetime

    from cooperage.programme.rules.kept import profile_named
    from cooperage.programme.rules.profile import profile_with

    return profile_with((), USUAL if name is None else profile_named(name), datetime.now().astimezone().date())


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
def fill_command(size: str, volumes: tuple[float, ...], *, as_json: bool, **given: Any) -> None:  # noqa: ANN401 - what click hands over
    """Calculate the mean to set a line to, and judge bottles and lots by the rules of a profile (default: US).

    Source: the target by Dir. 76/211/EEC and the packers' rules after it, for a normal spread; plans by its Annex II
    and SI 2006/659 Sch. 2; each bottle and averages by 27 CFR 24.255 and NIST Handbook 133 (2026) chapter 2.
    """
    from cooperage.programme.bottling_risks.judged import FillAsked, fill_lines, fill_row, judge_fill
    from cooperage.programme.bottling_risks.risk import COLUMNS
    from cooperage.programme.rules.figure import CHECK

    if not volumes and given["spread"] is None and not given["averages"]:
        raise CannotCalculate("give volumes that were found, or how much the line --varies, or --averages")
    if given["averages"] and given["profile"] not in (None, USUAL):
        raise CannotCalculate("--averages are of US tax periods (27 CFR 24.255); leave out --profile or them")
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
    found = judge_fill(_profile(given["profile"]), asked)
    if as_json:
        print_json(fill_row(found))
        return
    for line in fill_lines(found, settings().units):
        click.echo(fill(line, COLUMNS, subsequent_indent="  "))
    click.echo(f"A reference: {CHECK}.")


@command(
    "label",
    "cooperage calc label 13.5 --strength 12.9",
    "cooperage calc label 12-14 --strength 12.9 --profile US --json",
)
@click.argument("stated", help="What the label states: a strength such as 13.5, or a range such as 12-14.")
@option("--strength", metavar="STRENGTH", required=True, help="What it really is, as it was measured.")
@profile_option
@json_option
def label_command(stated: str, strength: str, profile: str | None, as_json: bool) -> None:
    """Compare a strength or a range that a label states with the real one, by the rules of a profile (default: US).

    Source: tolerances and widest ranges: 27 CFR 4.36(b), 24.257; Reg. (EU) 1169/2011 Annex XII. A reference, no advice.
    """
    from cooperage.programme.rules.figure import CHECK
    from cooperage.programme.rules.label import label_words, read_stated

    units, rules = settings().units, _profile(profile)
    low, high = read_stated(stated, units)
    found = label_words(rules, low, high, float(read(Quantity.STRENGTH, strength, units)), units)
    if as_json:
        row = {"profile": rules.name, "stated_low_percent": low, "stated_high_percent": high, "is_ok": found.is_ok}
        print_json(row | {"words": list(found.lines)})
        return
    for line in found.lines:
        click.echo(line)
    click.echo(f"A reference: {CHECK}.")
