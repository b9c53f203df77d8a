"""Flights as text and lines: never what is in a glass before it is revealed."""

from collections.abc import Sequence

from rich.text import Text

from cooperage.tasting.flights import Flight, GlassResult, Results
from cooperage.units import Quantity, Units, counted, show, show_day, show_when

_FLIGHT = "{:<13} {:<10} {:>7}  {:<9} {:<18} {}"
_RANKED = "{:>2}  {:<5}  {:<8} {:>8} {:>6} {:>6} {:>7}  {}"
FLIGHTS_HEAD = _FLIGHT.format("flight", "poured", "glasses", "codes", "tasters", "name")
RANKING_HEAD = _RANKED.format("", "glass", "vessel", "adjusted", "mean", "spread", "tasters", "words")


def is_blind(flight: Flight) -> bool:
    """Return True until the codes are revealed."""
    return flight.is_blind


def flight_line(flight: Flight) -> str:
    """Return a flight in one line."""
    codes, tasters = "blind" if is_blind(flight) else "revealed", ", ".join(flight.tasters) or "none yet"
    poured = show_day(flight.poured_at)
    return _FLIGHT.format(flight.code, poured, len(flight.glasses), codes, _cut(tasters, 18), flight.name)


def about_flight(flight: Flight) -> list[str]:
    """Return a flight's name, when it was poured, its scale, and whether its codes are revealed."""
    lifted = "still blind" if is_blind(flight) else f"revealed {show_when(flight.revealed_at)}"
    named = f"{flight.code}  {flight.name}".rstrip()
    return [f"{named}: poured {show_when(flight.poured_at)}, scale {flight.scale}, {lifted}."]


def blind_lines(flight: Flight) -> list[str]:
    """Return the glasses by their codes, and how many of them each taster has scored."""
    codes = "  ".join(glass.code for glass in flight.glasses)
    return [f"Glasses in the order poured:  {codes}", "", *(_progress(flight, taster) for taster in flight.tasters)]


def _progress(flight: Flight, taster: str) -> str:
    scored = sum(given.value is not None for (_, who), given in flight.scores.items() if who == taster)
    return f"{taster} has scored {scored} of {counted(len(flight.glasses), 'glass', 'glasses')}."


def unscored(flight: Flight) -> list[str]:
    """Name the tasters who began a flight and have not scored every glass."""
    of_each = {
        taster: {c for (c, who), s in flight.scores.items() if who == taster and s.value is not None}
        for taster in flight.tasters
    }
    return [taster for taster, scored in of_each.items() if len(scored) < len(flight.glasses)]


def pour_lines(flight: Flight) -> list[str]:
    """Return which sample goes into which glass: only for the person who pours."""
    return [f"{glass.position:>3}.  glass {glass.code}  from {glass.vessel or glass.what}" for glass in flight.glasses]


def result_lines(flight: Flight, found: Results | None, units: Units) -> list[str | Text]:
    """Return the ranking, what the panel can and cannot show, and every taster's words."""
    if found is None:
        return ["No score has been given: there is nothing to rank."]
    spreads = dict(zip((glass.code for glass in flight.glasses), found.summary.spread.tolist(), strict=True))
    rows = [_ranked(place, row, spreads[row.glass.code], units) for place, row in enumerate(found.rows, 1)]
    head = Text(RANKING_HEAD, style="bold", no_wrap=True, overflow="ellipsis")
    return [head, *rows, "", *found.words, "", *_all_words(found.rows)]


def _ranked(place: int, row: GlassResult, spread: float, units: Units) -> Text:
    adjusted, mean, gap = (show(Quantity.NUMBER, value, units, digits=1) for value in (row.adjusted, row.mean, spread))
    line = _RANKED.format(
        place, row.glass.code, row.glass.called, adjusted, mean, gap, row.tasted, "; ".join(row.words)
    )
    return Text(line, no_wrap=True, overflow="ellipsis")


def _all_words(rows: Sequence[GlassResult]) -> list[str]:
    return [f"{row.glass.code} {row.glass.called}: {'; '.join(row.words)}" for row in rows if row.words]


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 1] + "…"
