"""`cooperage blend`: solve a brief over a pool file or the cellar, scale it to the bench, pour it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from cooperage.blending.answer import Answer
from cooperage.blending.brief import load_brief
from cooperage.blending.solve import solve
from cooperage.cli.desk import json_option, open_book, print_json, print_table, settings

brief_option = click.option("--brief", "brief_path", required=True, type=click.Path(path_type=Path), help="BRIEF.toml")
time_option = click.option(
    "--time-limit", type=float, default=60.0, show_default=True, help="Seconds to look for the best plan."
)


@click.group("blend")
def blend_command() -> None:
    """Compose a blend from the stocks at hand."""


@blend_command.command("solve")
@brief_option
@click.option("--pool", type=click.Path(path_type=Path), help="POOL.csv; without it, the cellar's barrels and tanks.")
@time_option
@json_option
@click.pass_context
def solve_command(ctx: click.Context, brief_path: Path, pool: Path | None, time_limit: float, as_json: bool) -> None:
    """Solve a brief, and say why where it cannot be met.

    Exit status: 0 a plan, 3 no blend can meet the brief (or none is best), 4 time ran out without a plan, 2 bad input.
    """
    brief = load_brief(brief_path)
    answer = _solve(ctx, brief, pool, time_limit)
    if as_json:
        print_json(answer.to_json())
    else:
        _tell(answer)
    ctx.exit(answer.exit_status)


def _solve(ctx: click.Context, brief: Mapping[str, Any], pool: Path | None, time_limit: float) -> Answer:
    if pool is not None:
        return solve(pool, brief, time_limit=time_limit)
    from cooperage.blending.cellar import solve_in_cellar
    from cooperage.tasting.flights import last_scores

    book = open_book(ctx)
    scores = {tag: given.mean for tag, given in last_scores(book).items()}
    return solve_in_cellar(book.cellar(), scores, brief, time_limit)


def _tell(answer: Answer) -> None:
    click.echo(f"status: {answer.status}" + (f" (gap {answer.gap:.2%})" if answer.gap else ""))
    if answer.draws:
        _tell_blend(answer.draws, answer.blend)
    for binding in answer.binding:
        click.echo(f"  binds  {binding.words}")
    for clash in answer.conflict:
        click.echo(f"  clash  {clash.words}")
    if answer.nearest is not None:
        click.echo("nearest blend:")
        _tell_blend(answer.nearest.draws, answer.nearest.blend)
        for miss in answer.nearest.misses:
            click.echo(f"  misses {miss.words}")
        for dose in answer.nearest.dosing:
            click.echo(f"  would be closed by {dose.litres:.1f} l of {dose.stock}")
    for left in answer.left_out:
        click.echo(f"  left out {left.stock}: {left.why}")
    for note in answer.notes:
        click.echo(f"  {note}")


def _tell_blend(draws: Any, blend: Mapping[str, float | None]) -> None:  # noqa: ANN401 - draws of an answer
    rows = [(d.stock, f"{d.litres:.1f}", "" if d.left is None else f"{d.left:.1f}") for d in draws]
    print_table(("stock", "litres", "left"), rows, right=(1, 2))
    figures = ", ".join(f"{name} {value:.4g}" for name, value in blend.items() if value is not None)
    click.echo(f"  blend  {figures}")


@blend_command.command("trial")
@brief_option
@click.option("--ml", default=100.0, show_default=True, help="Millilitres in the glass.")
@click.option("--step", default=1.0, show_default=True, help="What the pipette can draw [ml].")
@time_option
@json_option
@click.pass_context
def trial_command(
    ctx: click.Context, brief_path: Path, ml: float, step: float, time_limit: float, as_json: bool
) -> None:
    """Scale the solved blend to a glass for the bench."""
    from cooperage.blending.bench import bench_sheet

    sheet = bench_sheet(_solve(ctx, load_brief(brief_path), None, time_limit), ml, step)
    if as_json:
        print_json(sheet)
        return
    rows = [(row.stock, f"{row.millilitres:g} ml", f"{100 * row.planned_share:.1f} %") for row in sheet.rows]
    print_table(("stock", "pipette", "plan"), rows, right=(1, 2))
    click.echo(f"rounding strays by at most {sheet.strays_by_points:.2f} points from the plan")


@blend_command.command("pour")
@brief_option
@click.option("--into", required=True, metavar="TAG", help="The vessel it is poured into.")
@click.option("--hand")
@click.option("--note", default="")
@click.option("--sure", is_flag=True)
@time_option
@json_option
@click.pass_context
def pour_command(
    ctx: click.Context,
    brief_path: Path,
    into: str,
    hand: str | None,
    note: str,
    sure: bool,
    time_limit: float,
    as_json: bool,
) -> None:
    """Solve a brief over the cellar and write the blend into the book."""
    from cooperage.blending.pour import pour, pour_words

    brief = load_brief(brief_path)
    answer = _solve(ctx, brief, None, time_limit)
    if answer.exit_status:
        _tell(answer)
        ctx.exit(answer.exit_status)
    book = open_book(ctx)
    before = book.cellar()
    written = pour(book, answer, into, brief, hand=hand or settings().hand, note=note, sure=sure)
    words = pour_words(written, before, book.cellar())
    if as_json:
        print_json({"id": written.id, "answer": answer.to_json(), "words": words})
        return
    _tell(answer)
    click.echo(f"written: blend {written.id[:12]} into {into}")
    for line in words:
        click.echo(f"  {line}")
