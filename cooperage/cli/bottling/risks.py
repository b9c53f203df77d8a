"""`cooperage bottling risks`: every risk of a bottling with its figure now, and passing them with a reason."""

from collections.abc import Sequence
from textwrap import fill

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import TAGS
from cooperage.cli.shared.desk import hand_option, json_option, open_book, print_json, settings
from cooperage.cli.shared.profile import profile_option
from cooperage.errors import BadInput
from cooperage.programme.bottling_risks.passed import pass_risks
from cooperage.programme.bottling_risks.risk import COLUMNS, Risk, RiskState, in_words, risk_lines, risk_row
from cooperage.programme.bottling_risks.risks import risks
from cooperage.units import Quantity, Units, read, read_volume

LARGEST_BOTTLE_ML = 30_000
label_option = option("--label", metavar="STRENGTH", help="The strength to be stated on the label.")


class NotASize(BadInput):
    """A text that is no size of a bottle."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is no bottle; write sizes as 750ml, or with how many: 750ml=120,375ml=40")


@command(
    "risks",
    "cooperage bottling risks T-1 --sizes 750ml --label 13.5",
    "cooperage bottling risks B-003 B-004 --sizes 750ml=120,375ml=40 --profile EU --json",
)
@click.argument("vessels", nargs=-1, required=True, shell_complete=TAGS, help="Tags of what is bottled together.")
@option("--sizes", metavar="SIZES", default="750ml", help="Bottles, such as 750ml or 750ml=120,375ml=40.")
@label_option
@profile_option
@option(
    "--pass",
    "passed",
    metavar="RISK=REASON",
    multiple=True,
    help="Record that a risk is passed and why; may be repeated, and each trouble needs one.",
)
@hand_option
@json_option
@click.pass_context
def risks_command(
    ctx: click.Context,
    vessels: tuple[str, ...],
    sizes: str,
    label: str | None,
    profile: str | None,
    passed: tuple[str, ...],
    hand: str | None,
    as_json: bool,
) -> None:
    """Show every risk of a bottling with its figure now, its doubt, and what would settle it.

    Several vessels are taken as their mix. With --pass the list is kept with its figures and the reasons.
    """
    book, mine = open_book(ctx), settings()
    bottles = bottles_of(sizes)
    stated = label_strength(label, mine.units)
    found = risks(book, vessels, bottles, label=stated, profile=profile, units=mine.units)
    asked = {"bottles": {str(size): count for size, count in bottles.items()}, "label": stated, "profile": profile}
    kept = None
    if passed:
        kept = pass_risks(book, vessels, asked, found, reasons_of(passed), hand=hand or mine.hand)
    if as_json:
        row = {"vessels": list(vessels), "risks": [risk_row(each) for each in found], "words": in_words(found)}
        print_json(row | {"passed_id": None if kept is None else kept.id})
        return
    print_risks(found, mine.units)
    if kept is not None:
        by = f" by {kept.hand}" if kept.hand else ""
        click.echo(f"Written: passed{by}, with the figures above.")


def print_risks(found: Sequence[Risk], units: Units) -> None:
    """Print a list of risks with its sources, the caution and what stands against it."""
    for line in (line for risk in found for line in risk_lines(risk, units)):
        click.echo(line)
    count = {state: sum(each.state is state for each in found) for state in RiskState}
    click.echo(", ".join(f"{number} {state.value}" for state, number in count.items()))
    sources = dict.fromkeys(f"{each.name}: {each.source}" for each in found if each.source)
    for line in (*sources, *in_words(list(found))):
        click.echo(fill(line, COLUMNS, subsequent_indent="  "))


def bottles_of(text: str) -> dict[int, int | None]:
    """Return how many bottles of each size [mL] are wanted; None for as many as there are."""
    found: dict[int, int | None] = {}
    for part in filter(None, (each.strip() for each in text.split(","))):
        size, equals, count = (each.strip() for each in part.partition("="))
        ml = read_volume(size)
        if not 0 < ml <= LARGEST_BOTTLE_ML or (equals and not count.isdigit()):
            raise NotASize(part)
        found[ml] = int(count) if equals else None
    if not found:
        raise NotASize(text)
    return found


def label_strength(text: str | None, units: Units) -> float | None:
    """Return the strength that is to stand on a label [% vol]; None where none was given."""
    return None if text is None else float(read(Quantity.STRENGTH, text, units))


def reasons_of(passed: Sequence[str]) -> dict[str, str]:
    """Return the reasons typed as RISK=REASON, by risk."""
    return {name.strip(): reason.strip() for name, _, reason in (each.partition("=") for each in passed)}
