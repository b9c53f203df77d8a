"""`cooperage forecast`: what barrels will be on a later day, and when they need topping."""

from datetime import datetime, timedelta
from typing import Any

import click

from cooperage.cli.scored import show_scores
from cooperage.cli.shared.command import command, option
from cooperage.cli.shared.complete import tag_argument
from cooperage.cli.shared.desk import NumberRange, json_option, open_book, print_json, print_table, settings
from cooperage.programme.ahead.forecast import Band
from cooperage.programme.ahead.outlook import USUAL_DAYS, Ahead, look_ahead
from cooperage.programme.upkeep.beginnings import missing
from cooperage.units import Quantity, read_when, show, show_day


@command(
    "forecast",
    "cooperage forecast",
    "cooperage forecast B-028 --to 2027-03-01",
    "cooperage forecast B-001 --json",
    "cooperage forecast --scored",
)
@tag_argument("tags", nargs=-1, metavar="[TAG]...", help="Tags of barrels (default: all that hold mead).")
@option("--to", "to_day", metavar="DATE", formerly=("--on",), help="Last day of the forecast (default: 30 days ahead).")
@option(
    "--coverage",
    "probability",
    type=NumberRange(0.01, 0.999),
    metavar="SHARE",
    formerly=("--within",),
    default=0.9,
    show_default=True,
    help="Coverage of the low-high interval, 0 to 1.",
)
@option("--scored", is_flag=True, help="Show instead how near every reading so far came to what was forecast for it.")
@json_option
@click.pass_context
def forecast_command(
    ctx: click.Context, tags: tuple[str, ...], to_day: str | None, probability: float, *, scored: bool, as_json: bool
) -> None:
    """Forecast barrels, if untouched, to a date: volume, headspace, strength, sugar, and the next topping.

    Each figure comes with the interval it is expected to lie in. Top due is when the rounds ask for a topping; low by
    is when it will be as short as its schedule calls low.
    """
    book = open_book(ctx)
    if scored:
        show_scores(book, tags, as_json=as_json)
        return
    day = book.now() + timedelta(days=USUAL_DAYS) if to_day is None else read_when(to_day, book.now())
    found = look_ahead(book, day, tags, probability)
    if as_json:
        print_json([_row(ahead) for ahead in found])
        return
    if not found:
        click.echo(missing(book.cellar()))
        return
    click.echo(f"on {show_day(day)}, with {100 * probability:g} % intervals")
    head = ("barrel", "holds", "", "headspace", "", "strength", "", "sugar", "", "top due", "low by", "", "rate from")
    print_table(head, [_line(ahead) for ahead in found], (1, 3, 5, 7))


def _line(ahead: Ahead) -> tuple[str, ...]:
    forecast, low = ahead.forecast, ahead.low_by
    return (
        forecast.barrel,
        *_format_band(Quantity.VOLUME, forecast.ml),
        *_format_band(Quantity.LENGTH, forecast.headspace_mm),
        *_format_band(Quantity.STRENGTH, forecast.abv),
        *_format_band(Quantity.SUGAR, forecast.sugar_g_l),
        "" if ahead.top_due is None else show_day(ahead.top_due),
        *(("", "") if low is None else (show_day(low.expected), f"{show_day(low.earliest)} {_latest(low.latest)}")),
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
    forecast, low = ahead.forecast, ahead.low_by
    return {
        "barrel": forecast.barrel,
        "to": forecast.on,
        "volume": _band_row(forecast.ml, "l", 1000),
        "headspace": _band_row(forecast.headspace_mm, "mm"),
        "strength": _band_row(forecast.abv, "abv"),
        "sugar": _band_row(forecast.sugar_g_l, "g_l"),
        "celsius": ahead.climate.celsius,
        "humidity_percent": ahead.climate.humidity,
        "basis": ahead.basis,
        "top_due": ahead.top_due,
        "low_by": None if low is None else {"expected": low.expected, "earliest": low.earliest, "latest": low.latest},
    }


def _band_row(band: Band | None, unit: str, per_unit: float = 1.0) -> dict[str, float] | None:
    """Return a band as scripts read it, each key with its unit."""
    if band is None:
        return None
    return {
        f"{name}_{unit}": each / per_unit
        for name, each in (("value", band.value), ("low", band.low), ("high", band.high))
    }
