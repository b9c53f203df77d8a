"""`cooperage forecast`: what barrels will be on a later day, and when they want topping."""

from datetime import datetime, timedelta
from typing import Any

import click

from cooperage.cli.shared.desk import json_option, open_book, print_json, print_table, settings
from cooperage.programme.ahead.forecast import Band
from cooperage.programme.ahead.outlook import USUAL_DAYS, Ahead, look_ahead
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import Quantity, read_when, show, show_day


@click.command("forecast")
@click.argument("tags", nargs=-1)
@click.option("--on", metavar="DATE", help="The day to look ahead to; 30 days from now, if left out.")
@click.option(
    "--within",
    "probability",
    type=click.FloatRange(0.01, 0.999),
    default=0.9,
    show_default=True,
    help="How often the figure shall lie between low and high.",
)
@json_option
@click.pass_context
def forecast_command(
    ctx: click.Context, tags: tuple[str, ...], on: str | None, probability: float, *, as_json: bool
) -> None:
    """Reckon barrels ahead, left alone until then: volume, headspace, strength and sugar, and the next topping.

    Without a TAG, every barrel that holds mead. Each figure comes with the interval it will lie in.
    """
    book = open_book(ctx)
    day = book.now() + timedelta(days=USUAL_DAYS) if on is None else read_when(on, book.now())
    found = look_ahead(book, day, tags, probability)
    if as_json:
        print_json([_row(ahead) for ahead in found])
        return
    if not found:
        click.echo(missing(book.cellar()))
        return
    click.echo(f"on {show_day(day)}, each {100 * probability:g} times in a hundred within")
    head = ("barrel", "holds", "", "headspace", "", "strength", "", "sugar", "", "top by", "", "rate from")
    print_table(head, [_line(ahead) for ahead in found], (1, 3, 5, 7))


def _line(ahead: Ahead) -> tuple[str, ...]:
    forecast = ahead.forecast
    top = (
        ("", "")
        if ahead.top_by is None
        else (
            show_day(ahead.top_by.expected),
            f"{show_day(ahead.top_by.earliest)} {_latest(ahead.top_by.latest)}",
        )
    )
    return (
        forecast.barrel,
        *_format_band(Quantity.VOLUME, forecast.ml),
        *_format_band(Quantity.LENGTH, forecast.headspace_mm),
        *_format_band(Quantity.STRENGTH, forecast.abv),
        *_format_band(Quantity.SUGAR, forecast.sugar_g_l),
        *top,
        ahead.basis,
    )


def _latest(latest: datetime | None) -> str:
    return "or later" if latest is None else f"to {show_day(latest)}"


def _format_band(quantity: Quantity, band: Band | None) -> tuple[str, str]:
    """Write a figure, and its interval without the unit."""
    if band is None:
        return "?", ""
    units, whole = settings().units, quantity is Quantity.VOLUME
    value, low, high = (round(each) if whole else each for each in (band.value, band.low, band.high))
    shown = (show(quantity, each, units, with_unit=False) for each in (low, high))
    return show(quantity, value, units), "-".join(shown)


def _row(ahead: Ahead) -> dict[str, Any]:
    forecast, top = ahead.forecast, ahead.top_by
    bands = {
        "ml": forecast.ml,
        "headspace_mm": forecast.headspace_mm,
        "abv": forecast.abv,
        "sugar_g_l": forecast.sugar_g_l,
    }
    return {
        "barrel": forecast.barrel,
        "on": forecast.on,
        **{name: None if band is None else [band.value, band.low, band.high] for name, band in bands.items()},
        "celsius": ahead.climate.celsius,
        "humidity": ahead.climate.humidity,
        "basis": ahead.basis,
        "top_by": None if top is None else [top.expected, top.earliest, top.latest],
    }
