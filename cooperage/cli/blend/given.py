"""What the blend commands are given: briefs, stocks, and the options that they share."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from cooperage.blending.answer.answer import Answer
from cooperage.blending.brief.brief import load_brief
from cooperage.cli.shared.command import option
from cooperage.cli.shared.desk import NumberRange, open_book, settings
from cooperage.cli.shared.paste import piped_file
from cooperage.errors import BadInput
from cooperage.programme.ageing.aged import cellar_now

if TYPE_CHECKING:
    from cooperage.blending.pour.short import ShortNow
    from cooperage.blending.stocks.pool import Stocks
    from cooperage.blending.together import Programme
    from cooperage.book import Book
    from cooperage.book.dangers.dangers import Caution
    from cooperage.programme.ageing.aged import AgedCellar

_BOOK = "cooperage.blend.book"
"""Where a command keeps the book it has opened."""
_CELLAR = "cooperage.blend.cellar"

briefs_option = option(
    "--brief",
    "brief_paths",
    required=True,
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="BRIEF.toml",
    help="What the blend must be; - for what is piped in. Several are solved together over the same stocks.",
)
pool_option = option(
    "--pool",
    type=click.Path(path_type=Path),
    metavar="POOL.csv",
    help="Stocks to draw on; - for what is piped in (default: the cellar's barrels and tanks).",
)
time_option = option(
    "--time-limit",
    type=NumberRange(min=0, min_open=True),
    metavar="SECONDS",
    default=60.0,
    show_default=True,
    help="Longest time to look for the best plan.",
)
others_option = option(
    "--others", type=click.IntRange(min=0), metavar="NUMBER", default=0, help="How many alternatives to show."
)
within_option = option(
    "--within",
    type=NumberRange(min=0),
    metavar="PERCENT",
    default=5.0,
    show_default=True,
    help="How far from the best plan an alternative may be.",
)


class WrongCall(BadInput):
    """Options that do not go together; the line names those which would."""


def load_briefs(paths: Sequence[Path]) -> dict[str, dict[str, Any]]:
    """Load briefs by the names of their files."""
    briefs = {path.stem: load_brief(path) for path in (piped_file(each, "brief.toml") for each in paths)}
    if len(briefs) < len(paths):
        raise WrongCall("two briefs have the same file name, which names their bottling; rename one")
    return briefs


def opened(ctx: click.Context) -> "Book":
    """Return the book of the cellar that is meant, opened once a command."""
    if _BOOK not in ctx.meta:
        ctx.meta[_BOOK] = open_book(ctx)
    return cast("Book", ctx.meta[_BOOK])


def _cellar(ctx: click.Context) -> "AgedCellar":
    """Return the cellar that is meant, read once a command."""
    if _CELLAR not in ctx.meta:
        ctx.meta[_CELLAR] = cellar_now(opened(ctx))
    return cast("AgedCellar", ctx.meta[_CELLAR])


def stocks_of(ctx: click.Context, pool: Path | None) -> "Stocks":
    """Read the stocks of a pool file, or of the cellar."""
    if pool is not None:
        from cooperage.blending.stocks.pool import read_pool

        return read_pool(piped_file(pool, "pool.csv"))
    from cooperage.blending.from_cellar import pool_of
    from cooperage.programme.ready.readiness import readiness
    from cooperage.tasting.vessels import last_scores, on_one_scale

    book, cellar = opened(ctx), _cellar(ctx)
    return pool_of(cellar, on_one_scale(last_scores(book)), readiness(book, cellar))


def solved(stocks: "Stocks", brief: Mapping[str, Any], time_limit: float, pool: Path | None = None) -> Answer:
    """Solve one brief; over the cellar itself barrels are not left part full where little more avoids it."""
    from cooperage.blending.from_cellar import avoiding_part_full
    from cooperage.blending.solving import solve

    return solve(stocks, brief if pool is not None else avoiding_part_full(brief), time_limit)


def others_of(
    stocks: "Stocks", brief: Mapping[str, Any], count: int, within: float, time_limit: float, best: Answer
) -> tuple[Answer, ...]:
    """Find other blends nearly as good, as many as asked for."""
    if not count:
        return ()
    from cooperage.blending.others import alternatives

    return alternatives(stocks, brief, count, within / 100, time_limit, best)


def cautions_for(
    ctx: click.Context, briefs: Mapping[str, Mapping[str, Any]], answers: Sequence[Answer], pool: Path | None
) -> "tuple[Caution, ...]":
    """Return the cautions of plans: over the cellar of what they leave behind, over a pool file only of their doses."""
    from cooperage.blending.pour.tank import plan_cautions

    cellar = None if pool is not None else _cellar(ctx)
    return plan_cautions(list(zip(answers, briefs.values(), strict=False)), cellar, settings().units)


def short_for(ctx: click.Context, answers: Sequence[Answer], pool: Path | None) -> "list[ShortNow]":
    """Return the barrels that hold less by now than plans draw; none of a pool file, of which that is not known."""
    if pool is not None or not any(answer.draws for answer in answers):
        return []
    from cooperage.blending.pour.short import short_now
    from cooperage.programme.losses.ledger import loss_rates
    from cooperage.programme.losses.level import level_now

    cellar = _cellar(ctx)
    rates = loss_rates(opened(ctx), cellar)
    return short_now(answers, cellar, lambda standing: level_now(standing, rates.get(standing.tag)))


def solved_together(briefs: Mapping[str, Mapping[str, Any]], stocks: "Stocks", time_limit: float) -> "Programme":
    """Solve several briefs as one programme."""
    from cooperage.blending.together import solve_together

    return solve_together(stocks, briefs, time_limit)
