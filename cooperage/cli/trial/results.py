"""`cooperage trial results` and `hand-over`: what the scores show, and the best blend as a brief."""

from pathlib import Path
from typing import Any

import click

from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.desk import BadCall, json_option, number, open_book, print_json, print_table, settings
from cooperage.cli.shared.out import NewFile, force_option
from cooperage.cli.trial.shown import by_stock, trial_argument
from cooperage.errors import BadInput

_attribute_option = option(
    "--fit",
    "attribute",
    metavar="NAME",
    default="overall",
    show_default=True,
    help="What is fitted: the overall score, or an attribute.",
)
_goal_option = option(
    "--goal", metavar="GOAL", default="high", show_default=True, help="high, low, or the score to come near to."
)
_limit_option = option(
    "--limit",
    "limits",
    metavar="FIGURE=LIMIT",
    multiple=True,
    help="A further limit of the best blend, as abv=12.2-12.8.",
)
_degree_option = option(
    "--degree",
    type=click.IntRange(1, 3),
    metavar="NUMBER",
    help="Model: 1 linear, 2 quadratic, 3 special cubic (default: by the scores).",
)


def _found(
    ctx: click.Context, code: str, attribute: str, goal: str, limits: tuple[str, ...], degree: int | None
) -> Any:  # noqa: ANN401 - TrialResults and the cellar
    from cooperage.blending.trials.results import trial_results
    from cooperage.blending.trials.stocks import parse_limits
    from cooperage.programme.ageing.aged import cellar_now

    units, book = settings().units, open_book(ctx)
    cellar = cellar_now(book)
    more = parse_limits(limits, units)
    found = trial_results(
        book, code, attribute, goal=_goal(goal), degree=degree, limits=more, cellar=cellar, units=units
    )
    return found, cellar


def _goal(text: str) -> float | str:
    from cooperage.units import Quantity, read

    word = text.strip().lower()
    if word in ("high", "low"):
        return word
    try:
        return float(read(Quantity.NUMBER, word, settings().units))
    except BadInput as error:
        raise BadCall(f"--goal '{text}' is no goal; give high, low, or a score such as 5") from error


@command(
    "results",
    "cooperage trial results TR-1",
    "cooperage trial results TR-1 --limit 'sugar=max 100' --picture surface.svg --json",
)
@trial_argument
@_attribute_option
@_goal_option
@_limit_option
@_degree_option
@option("--picture", type=NewFile(), metavar="FILE.svg", help="Draw the surface of three stocks into a file.")
@force_option
@json_option
@click.pass_context
def results_command(
    ctx: click.Context,
    code: str,
    attribute: str,
    goal: str,
    limits: tuple[str, ...],
    degree: int | None,
    picture: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Show what the scores of a trial mean: the fitted surface, whether it fits, the best blend and how sure it is."""
    found, _ = _found(ctx, code, attribute, goal, limits, degree)
    if picture is not None:
        _draw(found, picture, force=force)
    if as_json:
        print_json(_results_row(found) | ({"picture": str(picture)} if picture else {}), to_the_unit=False)
        return
    _print_results(found)
    if picture is not None:
        click.echo(f"wrote {picture}")


def _draw(found: Any, path: Path, *, force: bool) -> None:  # noqa: ANN401 - a TrialResults
    from cooperage.blending.trials.picture import surface_svg
    from cooperage.outfile import new_file

    svg = surface_svg(found, settings().units)
    with new_file(path, force=force) as half_done:
        half_done.write_text(svg, encoding="utf-8")


def _print_results(found: Any) -> None:  # noqa: ANN401 - a TrialResults
    from cooperage.blending.trials.result_words import RESULT_HEAD, best_words, fit_words, result_rows
    from cooperage.blending.trials.triangle import plot_lines
    from cooperage.blending.trials.words import trial_words

    units = settings().units
    for line in (*trial_words(found.trial, units), ""):
        click.echo(line)
    print_table(RESULT_HEAD, result_rows(found, units), right=(1, 2, 3))
    for line in ("", *fit_words(found, units), *best_words(found, units)):
        click.echo(line)
    plot = plot_lines(found, units)
    for line in ("", *plot) if plot else ():
        click.echo(line)
    click.echo(f"`cooperage trial hand-over {found.trial.code}` makes a brief of the best blend.")


def _results_row(found: Any) -> dict[str, Any]:  # noqa: ANN401 - a TrialResults
    trial, fit, lack = found.trial, found.fit, found.fit.lack_of_fit
    return {
        "code": trial.code,
        "attribute": found.what,
        "scale": found.scale,
        "tasters": found.tasters,
        "scores": found.scores,
        "sessions_awaited": found.awaited,
        "model": fit.degree,
        "why_this_model": found.why,
        "coefficients_points": dict(fit.coefficients),
        "standard_errors_points": dict(fit.standard_errors),
        "residual_sd_points": fit.root_mse,
        "residual_degrees_of_freedom": fit.residual_df,
        "lack_of_fit": {"f": lack.f, "p": lack.p, "degrees_of_freedom": lack.degrees},
        "coverage_percent": 80,
        "blends": [
            {
                "shares_percent": by_stock(trial, [100 * share for share in each.shares]),
                "scores": each.scores,
                "mean_points": each.mean,
                "fitted_points": each.fitted,
                "low_points": each.interval[0],
                "high_points": each.interval[1],
            }
            for each in found.blends
        ],
        "best": _best_row(found),
    }


def _best_row(found: Any) -> dict[str, Any] | None:  # noqa: ANN401 - a TrialResults
    best, trial = found.best, found.trial
    if best is None:
        return None
    low, high = best.gain_interval or (None, None)
    return {
        "shares_percent": by_stock(trial, 100 * best.shares),
        "expected_points": best.expected,
        "low_points": best.interval[0],
        "high_points": best.interval[1],
        "chance_over_single_stocks_percent": None if best.chance_over_stocks is None else 100 * best.chance_over_stocks,
        "gain_points": best.gain,
        "gain_low_points": low,
        "gain_high_points": high,
        "true_best_low_percent": by_stock(trial, 100 * best.share_range[:, 0]),
        "true_best_high_percent": by_stock(trial, 100 * best.share_range[:, 1]),
    }


@command(
    "hand-over",
    "cooperage trial hand-over TR-1 --litres 100",
    "cooperage trial hand-over TR-1 --out best.toml --json && cooperage blend solve --brief best.toml",
)
@trial_argument
@option("--litres", type=number, metavar="LITRES", help="How much to make (default: as much as the stocks give).")
@_attribute_option
@_goal_option
@_limit_option
@_degree_option
@option("--out", type=NewFile(), metavar="PATH", help="Write the brief to a file, for `blend solve` or the screen.")
@force_option
@json_option
@click.pass_context
def hand_over_command(
    ctx: click.Context,
    code: str,
    litres: float | None,
    attribute: str,
    goal: str,
    limits: tuple[str, ...],
    degree: int | None,
    out: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Print the best blend of a trial as a brief for the blend desk: its shares, and the limits of the trial."""
    from cooperage.blending.brief.saved import save_brief, toml_of
    from cooperage.blending.trials.hand_over import brief_of_best, most_litres, short_words

    found, cellar = _found(ctx, code, attribute, goal, limits, degree)
    brief = brief_of_best(found, cellar, litres)
    short = short_words(found, cellar, litres, settings().units)
    if out is not None:
        save_brief(out, brief, force=force)
    if as_json:
        row = {"code": found.trial.code, "brief": brief, "stocks_give_l": most_litres(found, cellar)}
        print_json(row | ({"file": str(out)} if out else {}), to_the_unit=False)
    elif out is None:
        click.echo(f"# {short}\n" if short else "", nl=False)
        click.echo(toml_of(brief), nl=False)
    else:
        if short:
            click.echo(short)
        click.echo(f"wrote {out}; `cooperage blend solve --brief {out}` finds the draws")


COMMANDS = (results_command, hand_over_command)
