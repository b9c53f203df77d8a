"""How the blend commands print an answer: in the words of the blend screen, in the person's units."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import click

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.cli.shared.desk import print_table, settings

if TYPE_CHECKING:
    from cooperage.blending.pour.bench_sheet import BenchGlass, ScaledUp
    from cooperage.blending.together import Programme

_TOGETHER = {
    "optimal": "best plan found",
    "feasible": "time ran out with a plan",
    "infeasible": "these briefs cannot all be met",
    "unbounded": "nothing keeps these briefs within bounds",
    "no_plan": "time ran out before any plan was found",
}


def print_answer(answer: Answer, called: str = "") -> None:
    """Print an answer: its draws and figures, or why there is none; an alternative by what it is `called`."""
    from cooperage.blending.answer.summary import bottling_words, headline, reaches, reasons

    units = settings().units
    click.echo(headline(answer, units, called))
    if answer.draws:
        _print_blend(answer.draws, answer.blend, answer.uncertainty)
    elif answer.nearest is not None:
        _print_blend(answer.nearest.draws, answer.nearest.blend, {})
    if answer.draws and answer.bottling is not None:
        click.echo(f"  {bottling_words(answer.bottling, units)}")
    for line in (*reasons(answer, units), *reaches(answer, units)):
        click.echo(f"  {line}")


def _print_blend(draws: Sequence[Draw], blend: Mapping[str, float | None], uncertainty: Mapping[str, float]) -> None:
    rows = [(d.stock, _litres(d.litres), "unlimited" if d.left_l is None else _litres(d.left_l)) for d in draws]
    print_table(("stock", "draw", "left"), rows, right=(1, 2))
    _print_figures(blend, uncertainty)


def _print_figures(blend: Mapping[str, float | None], uncertainty: Mapping[str, float] | None = None) -> None:
    from cooperage.blending.answer.summary import format_figures

    figures = [_litres(blend.get("litres")), *format_figures(blend, settings().units, uncertainty)]
    click.echo(f"  blend: {', '.join(figures)}{' (± one standard deviation)' if uncertainty else ''}")


def _litres(litres: float | None) -> str:
    from cooperage.blending.brief.figures import show_figure

    return show_figure("litres", litres, settings().units)


def print_programme(programme: "Programme") -> None:
    """Print what came of several briefs, one after the other in the order to pour them."""
    summed = "" if programme.objective is None else f", objective {programme.objective:.2f}"
    click.echo(f"Together: {_TOGETHER[programme.status]}{summed}")
    for note in programme.notes:
        click.echo(f"  {note}")
    for name, answer in programme.bottlings.items():
        click.echo(f"\n{name}")
        print_answer(answer)


def print_bench(glasses: Sequence["BenchGlass"]) -> None:
    """Print the pipetting sheet of each glass, and which code is which for the person who pours."""
    from cooperage.blending.answer.summary import format_figures

    for glass in glasses:
        click.echo(f"glass {glass.code}: {glass.what}")
        rows = [(row.stock, f"{row.millilitres:g} mL", f"{100 * row.planned_share:.1f} %") for row in glass.sheet.rows]
        print_table(("stock", "pipette", "plan"), rows, right=(1, 2))
        click.echo(f"  expected: {', '.join(format_figures(glass.predicted, settings().units))}")
        click.echo(f"  rounding error: at most {glass.sheet.strays_by_points:.2f} % points of share")
    click.echo("keep this sheet from the tasters; they score by code alone")


def print_scaled(scaled: "ScaledUp") -> None:
    """Print a glass scaled up to the cellar."""
    from cooperage.blending.brief.figures import figure_name, show_figure

    units = settings().units
    print_table(("stock", "draw"), [(stock, _litres(litres)) for stock, litres in scaled.draws.items()], right=(1,))
    poured = sum(scaled.draws.values())
    if poured < scaled.asked:
        of = f"{_litres(poured)} of the {_litres(scaled.asked)} asked for"
        click.echo(f"  {of}: the stocks hold no more at these shares and steps")
    _print_figures(scaled.blend)
    shifts = [
        f"{figure_name(name)} by {show_figure(name, by, units, short=True)}" for name, by in _notable(scaled.drift)
    ]
    if shifts:
        click.echo(f"  whole steps change {', '.join(shifts)}")


def _notable(drift: Mapping[str, float]) -> list[tuple[str, float]]:
    return [(name, by) for name, by in drift.items() if abs(by) > 1e-6]
