"""`cooperage blend solve`: the best blend for a brief, alternatives to it, and why a brief cannot be met."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cooperage.blending.answer.answer import Answer
from cooperage.cli.blend import given
from cooperage.cli.blend.words import print_answer, print_programme
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import json_option, print_cautions, print_json, settings

if TYPE_CHECKING:
    from cooperage.blending.answer.compared import RuleCost
    from cooperage.blending.pour.short import ShortNow
    from cooperage.blending.stocks.pool import Stocks


@command(
    "solve",
    "cooperage blend solve --brief demo_cellar/briefs/winter_bottling.toml",
    "cooperage blend solve --brief demo_cellar/briefs/winter_bottling.toml --others 2 --rules --json",
    "cooperage blend solve --brief demo_cellar/briefs/strong_and_dry.toml   # exit status 3: it cannot be met",
)
@given.briefs_option
@given.pool_option
@given.others_option
@given.within_option
@option("--rules", is_flag=True, help="Show what each stock under must and never costs.")
@given.time_option
@json_option
@click.pass_context
def solve_command(
    ctx: click.Context,
    brief_paths: tuple[Path, ...],
    pool: Path | None,
    others: int,
    within: float,
    rules: bool,
    time_limit: float,
    as_json: bool,
) -> None:
    """Find the best blend for a brief, or explain why it cannot be met.

    Several briefs are solved as one programme: no litre is promised twice. Exit status: 0 a plan, 3 no blend can meet
    the brief (or it has no best), 4 time ran out without a plan, 2 bad input.

    Over the cellar, the plan for one brief leaves fewer barrels part full where that costs at most 2 % of the first
    aim, and the price is shown. Under [draws] in the brief, part_full = "any" turns this off and part_full = "avoid"
    turns it on for a pool file.
    """
    briefs, stocks = given.load_briefs(brief_paths), given.stocks_of(ctx, pool)
    for name, value in (("--others", others), ("--rules", rules)):
        if len(briefs) > 1 and value:
            raise given.WrongCall(f"{name} is for one brief at a time; solve each alone to see its {name[2:]}")
    if len(briefs) > 1:
        _solve_together(ctx, briefs, stocks, time_limit, pool, as_json)
        return
    from cooperage.blending.brief.quantities import in_units

    brief = next(iter(briefs.values()))
    answer = given.solved(stocks, brief, time_limit, pool)
    found = given.others_of(stocks, brief, others, within, time_limit, answer)
    costs = _rule_costs(stocks, brief, answer, time_limit) if rules else ()
    cautions, short = given.cautions_for(ctx, briefs, [answer], pool), given.short_for(ctx, [answer], pool)
    if as_json:
        beside: dict[str, Any] = {"others": [other.to_json() for other in found]} if others else {}
        beside |= {"currency": settings().units.currency or None}
        body = answer.to_json() | beside | ({"rules": [cost.to_json() for cost in costs]} if rules else {})
        print_json(body | {"short_now": short, "cautions": cautions}, to_the_unit=False)
    else:
        print_answer(answer)
        _print_short(short)
        for cost in costs:
            click.echo(f"  {in_units(cost.words, settings().units)}")
        _print_others(found, others)
        print_cautions(cautions, err=False)
    ctx.exit(answer.exit_status)


def _print_short(found: "Sequence[ShortNow]") -> None:
    from cooperage.blending.pour.short import short_words

    for line in short_words(found, settings().units):
        click.echo(f"  {line}")


def _print_others(found: tuple[Answer, ...], wanted: int) -> None:
    for number, other in enumerate(found, 1):
        print_answer(other, f"Alternative {number}")
    if wanted > len(found):
        click.echo("no further blends differ within that distance of the best")


def _rule_costs(
    stocks: "Stocks", brief: Mapping[str, Any], answer: Answer, time_limit: float
) -> "tuple[RuleCost, ...]":
    from cooperage.blending.rules import rule_costs

    return rule_costs(stocks, brief, answer, time_limit)


def _solve_together(
    ctx: click.Context,
    briefs: Mapping[str, Mapping[str, Any]],
    stocks: "Stocks",
    time_limit: float,
    pool: Path | None,
    as_json: bool,
) -> None:
    programme = given.solved_together(briefs, stocks, time_limit)
    answers = [programme.bottlings[name] for name in briefs if name in programme.bottlings]
    cautions, short = given.cautions_for(ctx, briefs, answers, pool), given.short_for(ctx, answers, pool)
    if as_json:
        print_json(programme.to_json() | {"short_now": short, "cautions": cautions}, to_the_unit=False)
    else:
        print_programme(programme)
        _print_short(short)
        print_cautions(cautions, err=False)
    ctx.exit(programme.exit_status)
