"""`cooperage blend`: solve briefs over a pool file or the cellar, scale them to the bench and back, pour them."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cooperage.blending.answer.answer import Answer, Draw
from cooperage.blending.brief.brief import load_brief
from cooperage.cli.shared.desk import json_option, open_book, print_cautions, print_json, print_table, settings
from cooperage.errors import BadInput
from cooperage.units import DEFAULT

if TYPE_CHECKING:
    from cooperage.blending.pour.bench_sheet import BenchGlass, ScaledUp
    from cooperage.blending.rules import RuleCost
    from cooperage.blending.stocks.pool import Stocks
    from cooperage.blending.together import Programme
    from cooperage.book.dangers.dangers import Caution

briefs_option = click.option(
    "--brief",
    "brief_paths",
    required=True,
    multiple=True,
    type=click.Path(path_type=Path),
    help="BRIEF.toml; several are solved together over the same stocks.",
)
pool_option = click.option(
    "--pool", type=click.Path(path_type=Path), help="POOL.csv; without it, the cellar's barrels and tanks."
)
time_option = click.option(
    "--time-limit", type=float, default=60.0, show_default=True, help="Seconds to look for the best plan."
)
others_option = click.option("--others", type=click.IntRange(min=0), default=0, help="How many other blends to show.")
rules_option = click.option("--rules", is_flag=True, help="Tell what each stock under must and never costs.")
within_option = click.option(
    "--within",
    type=click.FloatRange(min=0),
    default=5.0,
    show_default=True,
    help="How far from the best others may be [%].",
)


class WrongCall(BadInput):
    """Options that do not go together; the line says which would."""


@click.group("blend")
def blend_command() -> None:
    """Compose a blend from the stocks at hand."""


@blend_command.command("solve")
@briefs_option
@pool_option
@others_option
@within_option
@rules_option
@time_option
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
    """Solve a brief, and say why where it cannot be met.

    Several briefs are solved as one programme: no litre is promised twice. Exit status: 0 a plan, 3 no blend can meet
    the brief (or none is best), 4 time ran out without a plan, 2 bad input.
    """
    briefs, stocks = _load(brief_paths), _stocks(ctx, pool)
    for option, given in (("--others", others), ("--rules", rules)):
        if len(briefs) > 1 and given:
            raise WrongCall(f"{option} is for one brief at a time; solve each alone to see its {option[2:]}")
    if len(briefs) > 1:
        _solve_together(ctx, briefs, stocks, time_limit, pool, as_json)
        return
    from cooperage.blending.brief.quantities import in_units
    from cooperage.blending.solving import solve

    brief = next(iter(briefs.values()))
    answer = solve(stocks, brief, time_limit)
    found = _others(stocks, brief, others, within, time_limit, answer)
    costs = _rule_costs(stocks, brief, answer, time_limit) if rules else ()
    minded = _cautions_for(ctx, briefs, [answer], pool)
    if as_json:
        beside = {"others": [other.to_json() for other in found]} if others else {}
        body = answer.to_json() | beside | ({"rules": [cost.to_json() for cost in costs]} if rules else {})
        print_json(body | {"cautions": minded})
    else:
        _print(answer)
        for cost in costs:
            click.echo(f"  {in_units(cost.words, settings().units)}")
        for number, other in enumerate(found, 1):
            click.echo(f"another, {number}:")
            _print(other)
        if others > len(found):
            click.echo("no further blends differ within that distance of the best")
        print_cautions(minded, err=False)
    ctx.exit(answer.exit_status)


def _load(paths: Sequence[Path]) -> dict[str, dict[str, Any]]:
    """Load briefs by the names of their files."""
    briefs = {path.stem: load_brief(path) for path in paths}
    if len(briefs) < len(paths):
        raise WrongCall("two briefs have one file name; bottlings are told apart by it, so rename one")
    return briefs


def _stocks(ctx: click.Context, pool: Path | None) -> "Stocks":
    from cooperage.blending.stocks.pool import read_pool

    if pool is not None:
        return read_pool(pool)
    from cooperage.blending.from_cellar import pool_of
    from cooperage.tasting.vessels import last_scores, on_one_scale

    book = open_book(ctx)
    return read_pool(pool_of(book.cellar(), on_one_scale(last_scores(book))))


def _others(
    stocks: "Stocks", brief: Mapping[str, Any], count: int, within: float, time_limit: float, best: Answer
) -> tuple[Answer, ...]:
    if not count:
        return ()
    from cooperage.blending.others import alternatives

    return alternatives(stocks, brief, count, within / 100, time_limit, best)


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
    programme = _programme(briefs, stocks, time_limit)
    minded = _cautions_for(
        ctx, briefs, [programme.bottlings[name] for name in briefs if name in programme.bottlings], pool
    )
    if as_json:
        print_json(programme.to_json() | {"cautions": minded})
    else:
        _print_programme(programme)
        print_cautions(minded, err=False)
    ctx.exit(programme.exit_status)


def _cautions_for(
    ctx: click.Context, briefs: Mapping[str, Mapping[str, Any]], answers: Sequence[Answer], pool: Path | None
) -> "tuple[Caution, ...]":
    """Return what to mind in plans: over the cellar at what they leave behind, over a pool file only of their doses."""
    from cooperage.blending.pour.tank import plan_cautions

    cellar = None if pool is not None else open_book(ctx).cellar()
    return plan_cautions(list(zip(answers, briefs.values(), strict=False)), cellar, settings().units)


def _programme(briefs: Mapping[str, Mapping[str, Any]], stocks: "Stocks", time_limit: float) -> "Programme":
    from cooperage.blending.together import solve_together

    return solve_together(stocks, briefs, time_limit)


@blend_command.command("trial")
@briefs_option
@pool_option
@click.option("--ml", default=100.0, show_default=True, help="Millilitres in the glass.")
@click.option("--step", default=1.0, show_default=True, help="What the pipette can draw [ml].")
@click.option("--control", metavar="TAG", help="The stock that stands alone as the control (else the largest draw).")
@click.option("--flight", "pours", is_flag=True, help="Pour the glasses as a flight, so that their scores come back.")
@others_option
@within_option
@time_option
@json_option
@click.pass_context
def trial_command(
    ctx: click.Context,
    brief_paths: tuple[Path, ...],
    pool: Path | None,
    ml: float,
    step: float,
    control: str | None,
    pours: bool,
    others: int,
    within: float,
    time_limit: float,
    as_json: bool,
) -> None:
    """Scale solved blends to glasses for the bench, blind-coded, with a control."""
    from cooperage.blending.pour.bench_sheet import bench_glasses
    from cooperage.blending.pour.glass import bench_stocks, glass_words
    from cooperage.blending.solving import solve

    briefs, stocks, plans = _load(brief_paths), _stocks(ctx, pool), {}
    for name, brief in briefs.items():
        plans[name] = solve(stocks, brief, time_limit)
        found = _others(stocks, brief, others, within, time_limit, plans[name])
        plans |= {f"{name}, another {number}": other for number, other in enumerate(found, 1)}
    glasses = bench_glasses(plans, bench_stocks(stocks, *briefs.values()), ml, step, control=control)
    flight = _pour_flight(ctx, {glass.code: glass_words(glass) for glass in glasses}) if pours else None
    if as_json:
        first = glasses[0].sheet
        body = {field: getattr(first, field) for field in ("rows", "millilitres", "step", "strays_by_points")}
        print_json(body | {"glasses": glasses, "flight": flight})
        return
    _print_bench(glasses)
    if flight is not None:
        click.echo(
            f"poured as flight {flight}; `cooperage taste score {flight} GLASS TASTER SCORE` brings the scores back"
        )
        click.echo("keep this from the tasters: they score by code alone")


def _pour_flight(ctx: click.Context, trials: Mapping[str, str]) -> str:
    from cooperage.tasting.flights import start_flight

    return start_flight(open_book(ctx), [], name="bench trial", trials=trials).code


@blend_command.command("scale")
@click.argument("glass", nargs=-1, required=True, metavar="STOCK=ML...")
@click.option("--litres", type=float, required=True, help="How much blend is wanted.")
@click.option("--step", default=1.0, show_default=True, help="What can be drawn in the cellar [L].")
@pool_option
@json_option
@click.pass_context
def scale_command(
    ctx: click.Context, glass: tuple[str, ...], litres: float, step: float, pool: Path | None, as_json: bool
) -> None:
    """Scale a chosen glass up to whole litres of what can really be drawn, and reckon its figures again."""
    from cooperage.blending.pour.bench_sheet import scale_up

    scaled = scale_up(dict(_part(text) for text in glass), _stocks(ctx, pool), litres, step)
    if as_json:
        print_json(scaled)
    else:
        _print_scaled(scaled)


def _part(text: str) -> tuple[str, float]:
    stock, _, ml = text.rpartition("=")
    try:
        return stock.strip(), float(ml)
    except ValueError:
        raise WrongCall(f"{text!r} is not STOCK=ML, such as B-003=40") from None


@blend_command.command("pour")
@briefs_option
@click.option(
    "--into", required=True, multiple=True, metavar="TAG", help="The vessel it is poured into; one for each brief."
)
@click.option("--hand")
@click.option("--note", default="")
@click.option("--sure", is_flag=True)
@time_option
@json_option
@click.pass_context
def pour_command(
    ctx: click.Context,
    brief_paths: tuple[Path, ...],
    into: tuple[str, ...],
    hand: str | None,
    note: str,
    sure: bool,
    time_limit: float,
    as_json: bool,
) -> None:
    """Solve briefs over the cellar and write the blends into the book, all of them or none."""
    from cooperage.blending.pour.tank import Pour, pour_all, pour_cautions, pour_words

    briefs, answers = _answers(ctx, brief_paths, into, time_limit)
    book = open_book(ctx)
    before = book.cellar()
    tags = dict(zip(briefs, into, strict=True))
    pours = [Pour(answer, tags[name], briefs[name], note) for name, answer in answers.items()]
    minded = pour_cautions(pours, before, settings().units)
    written = pour_all(
        book, pours, hand=hand or settings().hand, sure=sure, also=lambda: print_cautions(minded, err=True)
    )
    after = book.cellar()
    units = DEFAULT if as_json else settings().units
    words = list(dict.fromkeys(line for entry in written for line in pour_words(entry, before, after, units)))
    if as_json:
        first = {"id": written[0].id, "answer": pours[0].answer.to_json(), "words": words, "cautions": minded}
        poured = [{"id": entry.id, "into": each.into} for entry, each in zip(written, pours, strict=True)]
        print_json(first | ({"poured": poured} if len(written) > 1 else {}))
        return
    for entry, each in zip(written, pours, strict=True):
        _print(each.answer)
        click.echo(f"written: blend {entry.id[:12]} into {each.into}")
    for line in words:
        click.echo(f"  {line}")


def _answers(
    ctx: click.Context, paths: Sequence[Path], into: Sequence[str], time_limit: float
) -> tuple[dict[str, dict[str, Any]], dict[str, Answer]]:
    """Solve the briefs; where they cannot be met, tell why and leave with the answer's exit status."""
    briefs, stocks = _load(paths), _stocks(ctx, None)
    if len(briefs) != len(into):
        raise WrongCall(
            f"{len(into)} --into for {len(briefs)} --brief; give each brief its own vessel, in the same order"
        )
    if len(briefs) > 1:
        programme = _programme(briefs, stocks, time_limit)
        if programme.exit_status:
            _print_programme(programme)
            ctx.exit(programme.exit_status)
        return briefs, dict(programme.bottlings)
    from cooperage.blending.solving import solve

    name, brief = next(iter(briefs.items()))
    answer = solve(stocks, brief, time_limit)
    if answer.exit_status:
        _print(answer)
        ctx.exit(answer.exit_status)
    return briefs, {name: answer}


# --- in words -------------------------------------------------------------------------------------------------------


def _print(answer: Answer) -> None:
    """Print an answer: its draws and figures, or why there is none."""
    from cooperage.blending.answer.summary import bottling_words, headline, reaches, reasons

    units = settings().units
    click.echo(headline(answer, units))
    if answer.draws:
        _print_blend(answer.draws, answer.blend, answer.uncertainty)
    elif answer.nearest is not None:
        _print_blend(answer.nearest.draws, answer.nearest.blend, {})
    if answer.draws and answer.bottling is not None:
        click.echo(f"  {bottling_words(answer.bottling, units)}")
    for line in reasons(answer, units):
        click.echo(f"  {line}")
    for line in reaches(answer, units):
        click.echo(f"  {line}")


def _print_blend(draws: Sequence[Draw], blend: Mapping[str, float | None], uncertainty: Mapping[str, float]) -> None:
    from cooperage.blending.answer.summary import format_figures
    from cooperage.blending.brief.figures import show_figure

    units = settings().units
    rows = [(d.stock, _litres(d.litres), "no end" if d.left is None else _litres(d.left)) for d in draws]
    print_table(("stock", "draw", "left"), rows, right=(1, 2))
    figures = [show_figure("litres", blend.get("litres"), units), *format_figures(blend, units, uncertainty)]
    click.echo(f"  comes to {', '.join(figures)}")


def _litres(litres: float) -> str:
    from cooperage.blending.brief.figures import show_figure

    return show_figure("litres", litres, settings().units)


def _print_programme(programme: "Programme") -> None:
    """Print what came of several briefs, one after the other in the order to pour them."""
    summed = "" if programme.objective is None else f", objective {programme.objective:.2f}"
    click.echo(f"together: {programme.status}{summed}")
    for note in programme.notes:
        click.echo(f"  {note}")
    for name, answer in programme.bottlings.items():
        click.echo(f"\n{name}")
        _print(answer)


def _print_bench(glasses: Sequence["BenchGlass"]) -> None:
    """Print the pipetting sheet of each glass, and which code is which for whoever pours."""
    from cooperage.blending.answer.summary import format_figures

    for glass in glasses:
        click.echo(f"glass {glass.code}: {glass.what}")
        rows = [(row.stock, f"{row.millilitres:g} ml", f"{100 * row.planned_share:.1f} %") for row in glass.sheet.rows]
        print_table(("stock", "pipette", "plan"), rows, right=(1, 2))
        click.echo(f"  will read {', '.join(format_figures(glass.predicted, settings().units))}")
        click.echo(f"  rounding strays by at most {glass.sheet.strays_by_points:.2f} % points from the plan")
    click.echo("keep this sheet from the tasters; scores go by code")


def _print_scaled(scaled: "ScaledUp") -> None:
    """Print a glass scaled up to the cellar."""
    from cooperage.blending.answer.summary import format_figures
    from cooperage.blending.brief.figures import figure_name, show_figure

    units = settings().units
    print_table(("stock", "draw"), [(stock, _litres(litres)) for stock, litres in scaled.draws.items()], right=(1,))
    poured = sum(scaled.draws.values())
    if poured < scaled.asked:
        of = f"{_litres(poured)} of the {_litres(scaled.asked)} asked for"
        click.echo(f"  {of}: that is what there is at these shares and steps")
    figures = [_litres(scaled.blend["litres"] or 0.0), *format_figures(scaled.blend, units)]
    click.echo(f"  comes to {', '.join(figures)}")
    moved = [
        f"{figure_name(name)} by {show_figure(name, by, units, short=True)}" for name, by in _notable(scaled.drift)
    ]
    if moved:
        click.echo(f"  whole steps move {', '.join(moved)}")


def _notable(drift: Mapping[str, float]) -> list[tuple[str, float]]:
    return [(name, by) for name, by in drift.items() if abs(by) > 1e-6]
