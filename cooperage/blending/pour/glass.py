"""A bench glass written down with a flight, read back when it has been tasted, and made a plan of the cellar."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from cooperage.blending.answer.answer import Answer
from cooperage.blending.answer.drawn import MET, bottling, list_draws
from cooperage.blending.answer.words import miss_words
from cooperage.blending.brief.brief import Brief, read_brief
from cooperage.blending.brief.figures import figure_name
from cooperage.blending.brief.quantities import FigureText, QuantityText
from cooperage.blending.lp.columns import RowOf
from cooperage.blending.lp.limits import sides
from cooperage.blending.pour.bench_sheet import BenchGlass, ScaledUp, scale_up
from cooperage.blending.stocks.dosing import stocks_for_brief, with_doses
from cooperage.blending.stocks.pool import Stocks
from cooperage.book import Book
from cooperage.tasting.flights import Flight, flights, results

NOTABLE = 0.05  # a drift below this shows on no instrument
_PART = re.compile(r"([0-9.]+) m[lL] ([^,]+)")


@dataclass(frozen=True, slots=True)
class TastedGlass:
    """A glass of a revealed bench flight: what it is called, its parts [ml] by stock, its adjusted mean if any."""

    flight: str
    code: str
    called: str
    parts: Mapping[str, float]
    mean: float | None


def glass_words(glass: BenchGlass) -> str:
    """Write a glass with its millilitres, for the one who pours: "plan: 62.5 mL B-003, 37.5 mL B-007"."""
    parts = ", ".join(f"{row.millilitres:g} mL {row.stock}" for row in glass.sheet.rows if row.millilitres)
    return f"{glass.what}: {parts}"


def read_parts(what: str) -> dict[str, float]:
    """Read back the millilitres of a glass by stock; empty for one that has none."""
    return {stock: float(ml) for ml, stock in _PART.findall(what.partition(": ")[2])}


def tasted_glasses(book: Book) -> list[TastedGlass]:
    """List the glasses of every revealed bench flight that can be scaled up, newest flight and best glass first."""
    return [glass for flight in flights(book) if not flight.is_blind for glass in _of_flight(flight)]


def blind_benches(book: Book) -> list[str]:
    """Return the codes of the bench flights that are still blind, newest first."""
    return [flight.code for flight in flights(book) if flight.is_blind and any(_parts(flight))]


def _parts(flight: Flight) -> dict[str, dict[str, float]]:
    return {glass.code: read for glass in flight.glasses if (read := read_parts(glass.what))}


def _of_flight(flight: Flight) -> list[TastedGlass]:
    parts = _parts(flight)
    found = results(flight) if parts else None
    means = {row.glass.code: row.adjusted for row in found.rows if not np.isnan(row.adjusted)} if found else {}
    glasses = [
        TastedGlass(flight.code, glass.code, glass.called, parts[glass.code], means.get(glass.code))
        for glass in flight.glasses
        if glass.code in parts
    ]
    return sorted(glasses, key=lambda each: -np.inf if each.mean is None else each.mean, reverse=True)


def plan_of_glass(parts: Mapping[str, float], stocks: Stocks, brief: Mapping[str, Any], step: float = 1.0) -> Answer:
    """Scale a glass up to the litres of a brief, in whole steps [L], with where it misses the brief.

    Raises as `scale_up`.
    """
    asked = read_brief(brief)
    stocks = stocks_for_brief(asked, stocks)
    scaled = scale_up(parts, stocks, _wanted(asked), step)
    litres = np.array([scaled.draws.get(str(name), 0.0) for name in stocks.names])
    return Answer(
        "feasible",
        draws=list_draws(asked, stocks, litres),
        blend=scaled.blend,
        notes=tuple(_notes(scaled, asked, step)),
        bottling=bottling(asked, scaled.blend),
    )


def _wanted(brief: Brief) -> float:
    if brief.litres.target is not None:
        return brief.litres.target
    return brief.litres.high if np.isfinite(brief.litres.high) else brief.litres.low


def _notes(scaled: ScaledUp, brief: Brief, step: float) -> Iterator[str]:
    yield QuantityText("drawn in whole steps of ", FigureText("litres", step), ", at the shares of the glass")
    poured = sum(scaled.draws.values())
    if poured < scaled.asked - step / 2:
        wanted = FigureText("litres", scaled.asked)
        yield QuantityText(FigureText("litres", poured), " of the ", wanted, " asked for is what the stocks give")
    yield from (QuantityText("misses the brief: ", words) for words in _misses(scaled.blend, brief))
    moved = [(name, by) for name, by in scaled.drift.items() if abs(by) > NOTABLE]
    if moved:
        parts = (
            QuantityText(", " if at else "", f"{figure_name(name)} by ", FigureText(name, by))
            for at, (name, by) in enumerate(moved)
        )
        yield QuantityText("whole steps move ", *parts)


def _misses(blend: Mapping[str, float | None], brief: Brief) -> Iterator[QuantityText]:
    """Return the limits on figures that a blend does not meet."""
    nothing = RowOf(np.zeros(0))
    for name, span in brief.limits.items():
        value = blend.get(name)
        for limit in sides("property", name, span, nothing):
            if value is not None and limit.excess(value) > MET * max(1.0, abs(limit.value)):
                yield miss_words(limit, value)


def bench_stocks(stocks: Stocks, *briefs: Mapping[str, Any]) -> Stocks:
    """Return what glasses may hold: the stocks and the doses of every brief, the first of a name standing for all."""
    dosing = {name: dose for brief in reversed(briefs) for name, dose in read_brief(brief).dosing.items()}
    return with_doses(dosing, stocks) if dosing else stocks
