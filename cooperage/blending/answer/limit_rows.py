"""Each limit of a brief beside what the blend comes to: the figures of a table, in the person's units."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from cooperage.blending.answer.answer import Answer, Binding, Draw
from cooperage.blending.answer.summary import BAND
from cooperage.blending.brief.brief import Brief
from cooperage.blending.brief.figures import figure_name, figure_of, show_figure, unit_words
from cooperage.blending.brief.quantities import in_units
from cooperage.blending.brief.values import Bound
from cooperage.blending.lp.limits import members_of
from cooperage.blending.stocks.pool import Stocks
from cooperage.units import Quantity, Units, show, show_short, show_spread, unit_written

State = Literal["missed", "unsure", "met"]

SURE = 0.9
"""A limit that is met less surely than this is marked as unsure."""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit: what is wanted, what the blend comes to, its band (90 in 100), the chance, the price of one step.

    `chance` is "" where no doubt of the figure is known; `price` is a word where the limit costs nothing.
    """

    name: str
    wanted: str
    comes_to: str
    band: str
    unit: str
    chance: str
    price: str
    state: State


@dataclass(frozen=True, slots=True)
class _Limited:
    """What one limit is about: the name answers call it, its words, its span, and what the blend comes to."""

    limit: str
    words: str
    figure: str
    span: Bound
    value: float | None


def limit_rows(brief: Brief, answer: Answer, stocks: Stocks, units: Units) -> list[LimitRow]:
    """Return a row for each limit: the missed ones first, then those met least surely; the volume comes last.

    For a brief that cannot be met the figures are those of the nearest blend.
    """
    draws, blend = answer.draws, answer.blend
    if not draws and answer.nearest is not None:
        draws, blend = answer.nearest.draws, answer.nearest.blend
    if not draws:
        return []
    figures = [_Limited(name, figure_name(name), name, span, blend.get(name)) for name, span in brief.limits.items()]
    shares = [
        _Limited(f"share {key}", key.partition(":")[2] or key, "", span, share_of(key, draws, stocks))
        for key, span in brief.share.items()
    ]
    volume = _Limited("litres", "volume", "litres", brief.litres, blend.get("litres"))
    about = sorted((*figures, *shares), key=lambda each: _sureness(answer, each))
    rows = [_row(answer, each, units) for each in about]
    rows += [*_counts(brief, answer, len(draws), units), _row(answer, volume, units)]
    return sorted(rows, key=lambda row: row.state != "missed")


def share_of(key: str, draws: tuple[Draw, ...], stocks: Stocks) -> float:
    """Return the share of the litres drawn that comes from a stock, or from all with a label ("group:new oak")."""
    members = {str(name) for name in stocks.names[members_of(key, stocks)]}
    return sum(draw.litres for draw in draws if draw.stock in members) / sum(draw.litres for draw in draws)


def together_words(answer: Answer) -> str:
    """Return how sure all limits are together, and what to measure first; empty where no doubt is known."""
    if answer.chance_of_all is None or not answer.chances:
        return ""
    count = len(answer.chances)
    all_of_them = {1: "It holds", 2: "Both together hold"}.get(count, f"All {count} together hold")
    first = f" Measure {answer.readings[0].words.partition(':')[0]} first." if answer.readings else ""
    return f"{all_of_them} {_percent(answer.chance_of_all)} of the time.{first}"


def _sureness(answer: Answer, about: _Limited) -> float:
    """Return a number to sort limits by: their chance; those without a doubt come last."""
    return next((each.chance for each in answer.chances if each.limit == about.limit), 2.0)


def _missed(answer: Answer, about: _Limited) -> bool:
    return answer.nearest is not None and any(miss.limit == about.limit for miss in answer.nearest.misses)


def _row(answer: Answer, about: _Limited, units: Units) -> LimitRow:
    chance = next((each for each in answer.chances if each.limit == about.limit), None)
    is_unsure = chance is not None and chance.chance < SURE
    state: State = "missed" if _missed(answer, about) else "unsure" if is_unsure else "met"
    band = "" if chance is None or about.value is None else _band(about.figure, chance.uncertainty, about.value, units)
    return LimitRow(
        name=about.words,
        wanted=_wanted(about, units),
        comes_to="?" if about.value is None else _number(about.figure, about.value, units),
        band=band,
        unit=unit_words(about.figure, units) if about.figure else unit_written(Quantity.PERCENT, units),
        chance="" if chance is None else _percent(chance.chance),
        price=_price([each for each in answer.binding if each.limit == about.limit], answer, units),
        state=state,
    )


def _counts(brief: Brief, answer: Answer, drawn: int, units: Units) -> Iterator[LimitRow]:
    most = brief.draws.max_stocks
    if most is not None:
        price = _price([each for each in answer.binding if each.limit == "max_stocks"], answer, units)
        state: State = "met" if drawn <= most else "missed"
        yield LimitRow("stocks", f"≤ {most}", str(drawn), "", "", "", price, state)


def _number(figure: str, value: float, units: Units) -> str:
    """Return a figure with its declared digits; a share, which has none, in per cent."""
    if not figure:
        return show(Quantity.PERCENT, 100 * value, units, with_unit=False, digits=1)
    return show_figure(figure, value, units, with_unit=False)


def _wanted(about: _Limited, units: Units) -> str:
    def part(value: float) -> str:
        if not about.figure:
            return show_short(Quantity.PERCENT, 100 * value, units, with_unit=False)
        return show_figure(about.figure, value, units, with_unit=False, short=True)

    low, high = about.span.low, about.span.high
    if low == high:
        return part(low)
    if not math.isfinite(low) or (low == 0 and about.figure in ("", "litres")):
        return f"≤ {part(high)}"
    return f"{part(low)} – {part(high)}" if math.isfinite(high) else f"≥ {part(low)}"


def _band(figure: str, deviation: float, value: float, units: Units) -> str:
    """Return how far a figure may be off, 90 times in 100, to the digits the figure itself has."""
    quantity = figure_of(figure).quantity
    spread = show_spread(quantity, BAND * deviation, value, units).partition(" ")[0]
    digits = len(_number(figure, value, units).partition(units.decimal)[2])
    rounded = f"{float(spread.replace(units.decimal, '.')):.{digits}f}"
    return f"±{rounded.replace('.', units.decimal) if float(rounded) else spread}"


def _price(reached: list[Binding], answer: Answer, units: Units) -> str:
    if not answer.draws:
        return ""
    if not reached:
        return "not in the way"
    return next((in_units(each.step, units) for each in reached if each.step), "reached")


def _percent(chance: float) -> str:
    """Return a chance in whole per cent, never 0 or 100."""
    return "> 99 %" if chance > 0.995 else "< 1 %" if chance < 0.005 else f"{100 * chance:.0f} %"
