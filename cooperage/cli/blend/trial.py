"""`cooperage blend trial` and `scale`: from a solved blend to glasses on the bench, and from a glass to the cellar."""

from collections.abc import Mapping
from pathlib import Path

import click

from cooperage.cli.blend import given
from cooperage.cli.blend.words import print_bench, print_scaled
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import TAGS
from cooperage.cli.shared.desk import json_option, number, print_json


@command(
    "trial",
    "cooperage blend trial --brief demo_cellar/briefs/winter_bottling.toml --ml 100",
    "cooperage blend trial --brief demo_cellar/briefs/winter_bottling.toml --others 1 --flight --json",
)
@given.briefs_option
@given.pool_option
@option("--ml", type=number, metavar="ML", default=100.0, show_default=True, help="Millilitres in the glass.")
@option(
    "--step",
    type=number,
    metavar="VOLUME",
    default=1.0,
    show_default=True,
    help="Smallest step of the pipette, in millilitres.",
)
@option(
    "--control", metavar="TAG", shell_complete=TAGS, help="Stock poured alone as the control (default: the largest)."
)
@option("--flight", "pours", is_flag=True, help="Pour the glasses as a blind flight, so that scores come back.")
@given.others_option
@given.within_option
@given.time_option
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

    briefs, stocks, plans = given.load_briefs(brief_paths), given.stocks_of(ctx, pool), {}
    for name, brief in briefs.items():
        plans[name] = given.solved(stocks, brief, time_limit, pool)
        found = given.others_of(stocks, brief, others, within, time_limit, plans[name])
        plans |= {f"{name}, alternative {number}": other for number, other in enumerate(found, 1)}
    glasses = bench_glasses(plans, bench_stocks(stocks, *briefs.values()), ml, step, control=control)
    flight = _pour_flight(ctx, {glass.code: glass_words(glass) for glass in glasses}) if pours else None
    if as_json:
        first = glasses[0].sheet
        body = {"rows": first.rows, "millilitres": first.millilitres, "step_ml": first.step_ml}
        body |= {"strays_by_points": first.strays_by_points, "glasses": glasses, "flight": flight}
        print_json(body, to_the_unit=False)
        return
    print_bench(glasses)
    if flight is not None:
        click.echo(f"poured as flight {flight}; record scores with `cooperage taste score {flight} GLASS TASTER SCORE`")


def _pour_flight(ctx: click.Context, trials: Mapping[str, str]) -> str:
    from cooperage.tasting.flights import start_flight

    return start_flight(given.opened(ctx), [], name="bench trial", trials=trials).code


@command(
    "scale",
    "cooperage blend scale B-003=40 B-004=60 --litres 200",
    "cooperage blend scale B-003=40 B-004=60 --litres 200 --json",
)
@click.argument("glass", nargs=-1, required=True, metavar="STOCK=ML...", help="What is in the glass, as B-003=40.")
@option("--litres", type=number, required=True, metavar="LITRES", help="How much of the blend to make.")
@option(
    "--step",
    type=number,
    metavar="VOLUME",
    default=1.0,
    show_default=True,
    help="Smallest step that can be drawn in the cellar, in litres.",
)
@given.pool_option
@json_option
@click.pass_context
def scale_command(
    ctx: click.Context, glass: tuple[str, ...], litres: float, step: float, pool: Path | None, as_json: bool
) -> None:
    """Scale a chosen glass up to what can be drawn in the cellar, and calculate its figures again."""
    from cooperage.blending.pour.bench_sheet import scale_up

    scaled = scale_up(dict(_part(text) for text in glass), given.stocks_of(ctx, pool), litres, step)
    if as_json:
        body = {"draws_l": scaled.draws, "asked_l": scaled.asked, "blend": scaled.blend, "drift": scaled.drift}
        print_json(body, to_the_unit=False)
    else:
        print_scaled(scaled)


def _part(text: str) -> tuple[str, float]:
    stock, _, ml = text.rpartition("=")
    try:
        return stock.strip(), number(ml)
    except click.BadParameter:
        raise given.WrongCall(f"{text!r} is not STOCK=ML, such as B-003=40") from None
