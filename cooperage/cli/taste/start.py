"""`cooperage taste start`: a new flight, scored or a difference test."""

from collections.abc import Callable
from functools import reduce
from typing import Any

import click

from cooperage.cli.shared.command import WordChoice, command, option
from cooperage.cli.shared.complete import TAGS, tag_argument
from cooperage.cli.shared.desk import (
    BadCall,
    hand_option,
    json_option,
    number,
    open_book,
    print_json,
    settings,
    sure_option,
)
from cooperage.cli.taste.difference import NAMES
from cooperage.cli.taste.shown import flight_row, glasses_opened, print_to_pour, pull_of, pull_option
from cooperage.cli.taste.tests import difference_row, print_started
from cooperage.tasting.difference.question import ALIKE, DIFFER, DifferenceQuestion
from cooperage.tasting.pulling import pull_flight

DEFAULT_SCALE = "0-20"
_OPTIONS = (
    option("--difference", "test", type=WordChoice(NAMES), metavar="TEST", help=f"A test of two: {', '.join(NAMES)}."),
    option("--bench", multiple=True, metavar="TEXT", help="A glass from the bench as a sample: what is in it."),
    option("--rounds", type=int, default=1, show_default=True, metavar="N", help="Sets for each taster."),
    option("--alpha", type=number, default=0.05, show_default=True, help="Chance to be wrong in what is shown."),
    option("--share", type=number, default=0.5, show_default=True, help="Share of tasters who taste what matters."),
    option("--power", type=number, default=0.8, show_default=True, help="Chance to show it, for the tasters needed."),
    option("--alike", is_flag=True, help="Asks whether fewer than --share taste it, not whether anybody does."),
    option("--more", "asked", metavar="TEXT", default="", help="What one has more of: a paired test or 3-AFC."),
    option("--expect", "expected", metavar="TAG", default="", help="Which sample is thought to have more of it."),
)


def difference_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options of a difference test to a command."""
    return reduce(lambda made, add: add(made), reversed(_OPTIONS), command)


def given_without_test(ctx: click.Context) -> str:
    """Return an option of a difference test that was given without one; empty where none was."""
    names = {"bench": "bench", "rounds": "rounds", "alpha": "alpha", "share": "share", "power": "power"}
    names |= {"alike": "alike", "asked": "more", "expected": "expect"}
    given = (name for name in names if ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE)
    return names.get(next(given, ""), "")


@command(
    "start",
    "cooperage taste start B-001 B-002 B-003",
    "cooperage taste start B-010 B-011 B-012 --code SPRING --name 'spring panel' --duplicate --json",
    "cooperage taste start B-010 B-011 --attribute honey --attribute 'oak=0-100 mm' --taster Iko --pull 50mL",
    "cooperage taste start --difference triangle B-010 B-012 --taster Iko --taster Tove --rounds 4 --sure",
)
@tag_argument("tags", nargs=-1, metavar="TAG...", help="Tags of the vessels to taste; two for a difference test.")
@option("--code", metavar="FLIGHT", default="", help="Code for the flight (default: made from the date).")
@option("--name", metavar="TEXT", default="", help="What the tasting is about.")
@option("--scale", metavar="LOW-HIGH", default=DEFAULT_SCALE, show_default=True, help="Lowest and highest score.")
@option(
    "--attribute",
    "attributes",
    multiple=True,
    metavar="NAME[=VALUE]",
    help="Scored beside the overall score, as honey, or oak=0-20 for a scale of its own; repeat it for more.",
)
@option("--taster", "tasters", multiple=True, metavar="NAME", help="Who tastes; each gets an order of their own.")
@option("--duplicate", is_flag=True, help="Pour one sample twice, to check each taster's repeatability.")
@option(
    "--control", metavar="TAG", default="", shell_complete=TAGS, help="Vessel poured once more, as a hidden control."
)
@option(
    "--reference",
    metavar="TAG",
    default="",
    shell_complete=TAGS,
    help="Vessel poured once more, as a reference that is tasted first; of a duo-trio, which one is always known.",
)
@pull_option
@hand_option
@difference_options
@sure_option
@json_option
@click.pass_context
def start_command(
    ctx: click.Context,
    /,
    tags: tuple[str, ...],
    code: str,
    name: str,
    scale: str,
    attributes: tuple[str, ...],
    tasters: tuple[str, ...],
    duplicate: bool,
    control: str,
    reference: str,
    pull: str,
    hand: str | None,
    sure: bool,
    as_json: bool,
    **asked: Any,  # noqa: ANN401 - what `difference_options` adds
) -> None:
    """Pour a flight of these vessels in random order, blind-coded; or a difference test between two."""
    pulled: dict[str, Any] = {"each_ml": pull_of(pull), "hand": hand or settings().hand, "sure": sure}
    if asked["test"]:
        if attributes or duplicate or control or scale != DEFAULT_SCALE:
            raise BadCall("nothing is scored in a difference test; leave out --scale, --attribute and --duplicate")
        about = {"code": code, "name": name} | pulled
        _start_test(ctx, tags, tasters, reference, about, asked, as_json=as_json)
        return
    if given := given_without_test(ctx):
        raise BadCall(f"--{given} is of a difference test; name which with --difference")
    poured = pull_flight(
        open_book(ctx),
        tags,
        **pulled,
        code=code,
        name=name,
        scale=scale,
        hidden_duplicate=duplicate,
        attributes=attributes,
        tasters=tasters,
        control=control,
        reference=reference,
    )
    if as_json:
        print_json(flight_row(poured) | {"to_pour": glasses_opened(poured)})
        return
    print_to_pour(poured)


def _start_test(
    ctx: click.Context,
    tags: tuple[str, ...],
    tasters: tuple[str, ...],
    reference: str,
    given: dict[str, Any],
    asked: dict[str, Any],
    *,
    as_json: bool,
) -> None:
    """Pour a difference test and print it."""
    from cooperage.tasting.difference.planned import planned_test
    from cooperage.tasting.difference.pouring import start_difference

    bench = asked.pop("bench")
    question = DifferenceQuestion(reference=reference, aim=ALIKE if asked.pop("alike") else DIFFER, **asked)
    poured = start_difference(open_book(ctx), tags, question, tasters, bench=bench, **given)
    planned = planned_test(poured.question, len(poured.sets))
    if as_json:
        about = {"power": planned.power, "tasters_needed": planned.needed.first if planned.needed else None}
        print_json(difference_row(poured, is_open=True) | about | {"words": planned.words(settings().units)})
        return
    print_started(poured, planned.words(settings().units))
