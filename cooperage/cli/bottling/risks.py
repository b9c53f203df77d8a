"""`cooperage bottling risks`: every risk of a bottling with its figure now."""

from collections.abc import Sequence
from textwrap import fill

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import TAGS
from cooperage.cli.shared.desk import json_option, open_book, print_json, settings
from cooperage.cli.shared.profile import profile_option
from cooperage.programme.bottling_risks.risk import COLUMNS, Risk, RiskState, in_words, risk_lines, risk_row
from cooperage.programme.bottling_risks.risks import risks
from cooperage.programme.bottling_risks.typed import USUAL_SIZES, read_label, read_sizes
from cooperage.units import Units

label_option = option("--label", metavar="STRENGTH", help="The strength to be stated on the label.")


@command(
    "risks",
    "cooperage bottling risks T-1 --sizes 750ml --label 13.5",
    "cooperage bottling risks B-003 B-004 --sizes 750ml=120,375ml=40 --profile EU --json",
)
@click.argument("vessels", nargs=-1, required=True, shell_complete=TAGS, help="Tags of what is bottled together.")
@option("--sizes", metavar="SIZES", default=USUAL_SIZES, help="Bottles, such as 750ml or 750ml=120,375ml=40.")
@label_option
@profile_option
@json_option
@click.pass_context
def risks_command(
    ctx: click.Context,
    vessels: tuple[str, ...],
    sizes: str,
    label: str | None,
    profile: str | None,
    as_json: bool,
) -> None:
    """Show every risk of a bottling with its figure now, its doubt, and what would settle it.

    Several vessels are taken as their mix. Nothing is written: `cooperage bottling open` passes a risk with a reason.
    """
    book, mine = open_book(ctx), settings()
    bottles = read_sizes(sizes)
    found = risks(book, vessels, bottles, label=read_label(label, mine.units), profile=profile, units=mine.units)
    if as_json:
        print_json({"vessels": list(vessels), "risks": [risk_row(each) for each in found], "words": in_words(found)})
        return
    print_risks(found, mine.units)


def print_risks(found: Sequence[Risk], units: Units) -> None:
    """Print a list of risks with its sources, the caution and what stands against it."""
    for line in (line for risk in found for line in risk_lines(risk, units)):
        click.echo(line)
    count = {state: sum(each.state is state for each in found) for state in RiskState}
    click.echo(", ".join(f"{number} {state.value}" for state, number in count.items()))
    sources = dict.fromkeys(f"{each.name}: {each.source}" for each in found if each.source)
    for line in (*sources, *in_words(list(found))):
        click.echo(fill(line, COLUMNS, subsequent_indent="  "))
